"""Many kits against one lot: the same answer as each kit by itself."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.balances import Kits, rebalanced
from planning.engine.kit_sheet import BoundKit, BoundLot, balanced
from tests.planning.engine.hop_kits import ABSORB, ALPHAS, FORMS, HOLD, hop_lines, kits, pouch
from tests.planning.engine.make import GOLD, LATE_GOLD, PERLE


def new_lot(alpha: float | None, form_factor: float = 1.0) -> BoundLot:
    return BoundLot(lot=9, code="N-9", available=10**9, alpha=alpha, form_factor=form_factor)


def kit_of(*lines, **options) -> BoundKit:
    options = {"target_ibu": sum(line.reference_ibu for line in lines)} | options
    return BoundKit(hop_lines=lines, bound_items={}, resolution_mg=100, **options)


def assert_as_each_by_itself(held: list[BoundKit], item: str, lot: BoundLot) -> None:
    result = rebalanced(Kits.of(held), item=item, lot=lot)
    for row, kit in enumerate(held):
        one = balanced(kit, {item: lot})
        lines = range(len(kit.hop_lines))
        limited = {limit.line for limit in one.limits}
        assert result.after_mg[row, lines].tolist() == list(one.weights.values())
        assert result.minutes_after[row, lines].tolist() == [
            line.minutes_after or 0 for line in one.rows
        ]
        assert result.limited[row, lines].tolist() == [line.line in limited for line in one.rows]
        assert result.ibu_unchanged[row] == pytest.approx(one.ibu_unchanged, rel=0, abs=1e-9)
        assert result.ibu_corrected[row] == pytest.approx(one.ibu_corrected, rel=0, abs=1e-9)
        assert not result.after_mg[row, len(kit.hop_lines) :].any()


@settings(max_examples=400)
@given(
    held=st.lists(kits(), max_size=6),
    item=st.sampled_from(["gold", "perle"]),
    alpha=ALPHAS,
    form_factor=FORMS,
)
def test_many_kits_are_balanced_as_each_by_itself(held, item, alpha, form_factor):
    assert_as_each_by_itself(held, item, new_lot(alpha, form_factor))


@settings(max_examples=100)
@given(st.data())
def test_equal_misses_are_decided_in_the_same_order(data):
    # twins of one hop at one time: every rounding of one has its mirror in the other
    twin = data.draw(hop_lines(0, data.draw(st.sampled_from([ABSORB, HOLD]))))
    lines = [replace(twin, line=str(at), item="gold", alpha=twin.reference_alpha) for at in (1, 2)]
    today = data.draw(st.integers(1, 300)) * 100
    kit = kit_of(*lines, current_mg={data.draw(st.sampled_from("12")): today})

    assert_as_each_by_itself([kit], "gold", new_lot(data.draw(ALPHAS)))


@pytest.mark.parametrize("alpha", [0.05, 0.056, 0.061, 0.0625])
def test_halfway_between_two_steps_today_decides_as_it_does_for_one(alpha):
    gold = replace(GOLD, alpha=alpha)
    halfway = [(steps + 0.5) * 100 * gold.ibu_per_mg for steps in range(100, 250)]
    held = [
        kit_of(gold, target_ibu=target, current_mg={gold.line: today})
        for target in halfway
        for today in (0, 30_000)
    ]

    assert_as_each_by_itself(held, "gold", new_lot(alpha))


@pytest.mark.parametrize("part", [-0.55, -0.45, 0.0, 0.45, 0.55])
def test_the_same_boils_are_held_at_their_limits(part):
    line = pouch(45, 30, 75)
    table = list(line.minutes_table.values())
    past = table[-1] + part * (table[-1] - table[-2]), table[0] - part * (table[1] - table[0])

    for wanted in past:
        alpha = line.ibu_per_gram * line.reference_alpha / wanted
        assert_as_each_by_itself([kit_of(line), kit_of(line, PERLE)], "gold", new_lot(alpha))


def test_kits_of_every_shape_stand_in_one_table():
    held = [
        kit_of(GOLD, PERLE, LATE_GOLD),
        kit_of(PERLE),
        kit_of(),
        kit_of(pouch(45, 30, 75), PERLE),
        kit_of(pouch(45, 30, 75), GOLD),
        kit_of(*(replace(GOLD, line=str(at), role=HOLD) for at in range(13))),
    ]

    result = rebalanced(Kits.of(held), item="gold", lot=new_lot(0.055))

    assert result.after_mg.shape == (6, 13)
    assert result.minutes_after[3, 0] < 45
    assert_as_each_by_itself(held, "gold", new_lot(0.055))


def test_a_lot_of_another_item_changes_nothing():
    result = rebalanced(Kits.of([kit_of(GOLD, PERLE)]), item="ekg", lot=new_lot(0.09))

    assert result.after_mg.tolist() == [[20_000, 15_000]]


def test_kits_stay_as_they_were_laid_out():
    laid = Kits.of([kit_of(GOLD, PERLE)])
    first = rebalanced(laid, item="gold", lot=new_lot(0.06))
    rebalanced(laid, item="gold", lot=new_lot(0.03))

    again = rebalanced(laid, item="gold", lot=new_lot(0.06))

    assert np.array_equal(first.after_mg, again.after_mg)


@pytest.mark.parametrize("alpha", [None, 0.0, 1.0])
def test_a_lot_without_alpha_is_refused(alpha):
    with pytest.raises(ValueError, match="N-9 needs an alpha acid"):
        rebalanced(Kits.of([kit_of(GOLD)]), item="gold", lot=new_lot(alpha))
