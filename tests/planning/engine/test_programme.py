"""Programmes with several aims, one after the other."""

from __future__ import annotations

from planning.engine.programme import Programme


def diet():
    """Ten in all of two columns, the first at most six."""
    programme = Programme()
    first, second = programme.column(most=6), programme.column(most=10)
    programme.row({first: 1, second: 1}, least=10)
    return programme, first, second


def test_a_later_aim_never_gives_up_an_earlier_one():
    programme, first, second = diet()
    assert programme.smallest([{second: 1}, {first: 1}]).columns == (6, 4)


def test_what_cannot_be_is_not_found():
    programme, first, _ = diet()
    programme.row({first: 1}, least=7)
    assert programme.smallest([{first: 1}]) is None


def test_a_stopped_programme_keeps_its_start():
    programme, _, second = diet()
    found = programme.smallest([{second: 1}], start=[0, 10], stop=lambda: True)
    assert (found.columns, found.solved) == ((0, 10), ())


def test_an_aim_that_is_solved_is_its_own_bound():
    programme, _, second = diet()
    (solved,) = programme.smallest([{second: 1}]).solved
    assert (solved.value, solved.bound) == (4, 4)
