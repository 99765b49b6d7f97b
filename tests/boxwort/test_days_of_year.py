"""Days of any year as people write them."""

from __future__ import annotations

import pytest

from boxwort.days_of_year import day_of_year_read, day_of_year_written


@pytest.mark.parametrize(
    ("written", "day"), [("15 May", 515), ("1. sept", 901), ("February 29", 229), ("3 jun", 603)]
)
def test_a_day_is_read_with_its_month_in_words(written: str, day: int) -> None:
    assert day_of_year_read(written) == day
    assert day_of_year_read(day_of_year_written(day)) == day


@pytest.mark.parametrize("written", ["", "15", "31 June", "3 ju", "30 February", "5.15", "0 May"])
def test_what_no_year_has_or_could_be_two_months_is_not_read(written: str) -> None:
    with pytest.raises(ValueError, match=r".*"):
        day_of_year_read(written)
