"""The collector is off in the block, and as it was after it."""

from __future__ import annotations

import gc

import pytest

from boxwort.collecting import uncollected


def test_it_is_off_inside_and_on_again_though_the_work_fails():
    seen = []

    def failing() -> None:
        seen.append(gc.isenabled())
        msg = "given up"
        raise ValueError(msg)

    with pytest.raises(ValueError, match="given up"):
        uncollected()(failing)()
    assert (seen, gc.isenabled()) == ([False], True)


def test_one_inside_another_leaves_it_off_until_the_outer_ends():
    with uncollected():
        with uncollected():
            pass
        assert not gc.isenabled()
    assert gc.isenabled()


def test_a_function_is_held_off_each_time_it_is_called():
    asked = uncollected()(gc.isenabled)
    assert [asked(), asked(), gc.isenabled()] == [False, False, True]
