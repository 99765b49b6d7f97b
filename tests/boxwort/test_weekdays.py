"""Weekdays as people write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as some

from boxwort.weekdays import EVERY_DAY, weekdays_read, weekdays_written

KEPT = some.sets(some.sampled_from(EVERY_DAY), min_size=1).map(lambda days: "".join(sorted(days)))


@given(KEPT)
def test_what_is_written_is_read_as_it_was(weekdays: str) -> None:
    assert weekdays_read(weekdays_written(weekdays)) == weekdays


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("MON WED", "02"),
        ("Fri and Monday", "04"),
        ("Mon - Fri", "01234"),
        ("Sat-Mon", "056"),
        ("tues, thurs", "13"),
        ("Every day", EVERY_DAY),
    ],
)
def test_words_lists_and_stretches_are_understood(text: str, kept: str) -> None:
    assert weekdays_read(text) == kept


@pytest.mark.parametrize("text", ["", "  ", "Moon", "mo", "Mon Octember", "Frid ay", "-"])
def test_what_is_no_weekday_is_not_guessed(text: str) -> None:
    with pytest.raises(ValueError, match="weekday"):
        weekdays_read(text)
