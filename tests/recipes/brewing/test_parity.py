from __future__ import annotations

import json
from dataclasses import replace

import pytest

from boxwort.figures import NO_BREAK
from boxwort.working import Working
from recipes.brewing.figures import figures
from recipes.brewing.parity import PARITY_LIMITS, parity
from tests.recipes.brewing.brews import ALL_GRAIN, EXTRACT

BEER = figures(EXTRACT)


def beer(**values):
    """Return the figures of the beer with some of them set."""
    return replace(
        BEER,
        **{name: replace(getattr(BEER, name), value=value) for name, value in values.items()},
    )


def test_a_method_is_the_twin_of_itself():
    same = parity(BEER, BEER, same_yeasts=True)
    assert same.holds
    assert [row.figure for row in same.rows] == ["og", "fg", "ibu", "srm", "abv"]
    assert all(row.difference == 0 for row in same.rows)


def test_with_other_yeasts_it_is_another_beer():
    assert not parity(BEER, BEER, same_yeasts=False).holds


@pytest.mark.parametrize(
    ("figure", "one", "other", "within"),
    [
        ("og", 1.050, 1.052, True),
        ("og", 1.052, 1.050, True),
        ("og", 1.050, 1.05200001, False),
        ("fg", 1.010, 1.012, True),
        ("fg", 1.010, 1.0121, False),
        ("ibu", 30.1, 32.1, True),
        ("ibu", 30.1, 32.101, False),
        ("abv", 5.1, 5.4, True),
        ("abv", 5.1, 5.4001, False),
        ("srm", 5.0, 7.0, True),
        ("srm", 5.0, 7.001, False),
        ("srm", 36.0, 40.0, True),
        ("srm", 35.99, 40.0, False),
    ],
)
def test_a_difference_of_just_the_limit_passes(figure, one, other, within):
    compared = parity(beer(**{figure: one}), beer(**{figure: other}), same_yeasts=True)
    assert compared.row(figure).within is within
    assert compared.holds is within


def test_dark_beers_may_differ_by_a_tenth_of_the_darker():
    row = parity(beer(srm=30.0), beer(srm=40.0), same_yeasts=True).row("srm")
    assert row.limit == 4.0


def test_each_row_shows_its_working():
    compared = parity(BEER, figures(ALL_GRAIN), same_yeasts=True)
    for row in compared.rows:
        shown = row.working()
        assert Working.from_json(json.loads(json.dumps(shown.as_json()))) == shown
        assert shown.value == row.difference
        assert [term.value for term in shown.terms] == [row.one, row.other, row.limit]
        assert shown.unit == getattr(BEER, row.figure).unit
    assert "2 or 10 % of the larger" in compared.row("srm").working().notes[0].replace(
        NO_BREAK, " "
    )


def test_the_limits_are_those_of_the_house():
    limits = {name: limit.absolute for name, limit in PARITY_LIMITS.items()}
    assert limits == {"og": 0.002, "fg": 0.002, "ibu": 2.0, "srm": 2.0, "abv": 0.3}
