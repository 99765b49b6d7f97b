"""Below target the missing cells are grown in a starter."""

from __future__ import annotations

import pytest

from planning.engine.pitching import starter, starter_litres


def test_a_starter_grows_the_cells_that_are_missing():
    advised = starter(cells_missing=75e9)
    assert advised.value == pytest.approx(1.5)
    assert {term.name: term.value for term in advised.terms} == {
        "cells missing": 75.0,
        "new cells per litre": 50.0,
    }


def test_a_starter_is_made_in_half_litres_and_never_too_small():
    assert [starter_litres(cells) for cells in (1e9, 25e9, 25.1e9, 100e9)] == [0.5, 0.5, 1.0, 2.0]


def test_a_house_that_grows_more_needs_less():
    assert starter_litres(100e9, cells_per_l=100e9) == 1.0


def test_a_starter_nobody_would_make_is_not_advised():
    assert starter_litres(200e9) == 4.0
    assert starter_litres(201e9) is None


def test_impossible_starters_are_refused():
    with pytest.raises(ValueError, match="cells missing"):
        starter(cells_missing=-1.0)
    with pytest.raises(ValueError, match="cells a litre of starter grows"):
        starter(cells_missing=1e9, cells_per_l=0.0)
