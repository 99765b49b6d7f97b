from __future__ import annotations

import pytest

from recipes.brewing.alcohol import alcohol_by_volume
from recipes.brewing.style import FIGURES, StyleRanges, distance
from tests.reference.published import rows

STYLES = rows("style_statistics")


def ranges(row: dict[str, str]) -> StyleRanges:
    return StyleRanges(
        **{name: float(text) for name, text in row.items() if name not in {"code", "name"}}
    )


@pytest.mark.parametrize("row", STYLES, ids=lambda row: row["name"])
def test_a_beer_at_the_limits_of_its_style_is_inside(row):
    """BJCP 2021 Beer Style Guidelines, vital statistics, S: limits inclusive."""
    style = ranges(row)
    for figure in FIGURES:
        low, high = style.of(figure)
        assert low < high
        assert distance(low, low, high) == distance(high, low, high) == 0
        assert distance(high + 1e-4, low, high) == pytest.approx(1e-4)


@pytest.mark.parametrize("row", STYLES, ids=lambda row: row["name"])
def test_the_middle_of_a_style_has_an_alcohol_of_the_style(row):
    """BJCP 2021, S: the published alcohol agrees with Balling's of the published gravities."""
    style = ranges(row)
    middle = alcohol_by_volume(sum(style.of("og")) / 2, sum(style.of("fg")) / 2)
    assert distance(middle.value, *style.of("abv")) == 0


def test_a_bitter_helles():
    """BJCP 2021, S: Munich Helles is from 16 to 22 IBU, so 25 are 3 too many."""
    helles = next(ranges(row) for row in STYLES if row["name"] == "Munich Helles")
    assert distance(25, *helles.of("ibu")) == pytest.approx(3)
