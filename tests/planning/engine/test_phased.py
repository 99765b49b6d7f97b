"""Many items netted through time."""

from __future__ import annotations

import numpy as np
import pytest

from planning.engine.phased import Demands, phased
from planning.engine.supplies import Supplies, first_expired_first

KEEPS = 99


def lots(*rows: tuple[int, int, int, int], alpha=None, decay=None) -> Supplies:
    """Supplies of item, quantity, first and last bucket."""
    item, quantity, first, last = (
        np.array(column, dtype=np.int64)
        for column in (zip(*rows, strict=True) if rows else [()] * 4)
    )
    return Supplies(
        item=item,
        quantity=quantity,
        first=first,
        last=last,
        alpha=None if alpha is None else np.array(alpha),
        decay=None if decay is None else np.array(decay),
    )


def wants(*weight, item=None, alpha=None, narrowed=None) -> Demands:
    rows = np.array(weight, dtype=np.int64)
    return Demands(
        item=np.arange(len(rows)) if item is None else np.array(item),
        weight=rows,
        alpha=None if alpha is None else np.array(alpha, dtype=float),
        narrowed=narrowed or {},
    )


def test_what_will_have_expired_serves_nothing():
    found = phased(wants([0, 0, 30]), lots((0, 50, 0, 1)), items=1)
    assert found.net.tolist() == [[0, 0, 30]]
    assert found.expired.tolist() == [[0, 0, 50]]


def test_a_receipt_serves_from_its_own_bucket_on():
    found = phased(wants([10, 10]), lots((0, 15, 1, KEEPS)), items=1)
    assert found.net.tolist() == [[10, 0]]
    assert found.projected.tolist() == [[0, 5]]


def test_what_expires_first_is_used_first():
    supplies = lots((0, 20, 0, 2), (0, 20, 0, KEEPS))
    found = phased(wants([15, 10, 0, 15]), supplies, items=1)
    assert found.taken[0].tolist() == [[15, 5, 0, 0], [0, 5, 0, 15]]
    assert found.net.sum() == 0


def test_a_safety_stock_is_filled_once_and_kept():
    found = phased(wants([5, 5, 0]), lots((0, 8, 0, KEEPS)), items=1, safety=np.array([4]))
    assert found.net.tolist() == [[1, 5, 0]]
    assert found.projected.tolist() == [[4, 4, 4]]


def test_a_safety_stock_that_goes_off_is_filled_again():
    found = phased(wants([0, 0, 0]), lots((0, 8, 0, 0)), items=1, safety=np.array([4]))
    assert found.net.tolist() == [[0, 4, 0]]


def test_what_is_bought_for_the_safety_stock_serves_last():
    supplies = lots((0, 3, 0, KEEPS), (0, 9, 1, KEEPS))
    found = phased(wants([0, 12]), supplies, items=1, safety=np.array([5]))
    assert found.net.tolist() == [[2, 3]]
    assert found.taken[0].sum(axis=1).tolist() == [3, 9]


def test_weight_is_taken_before_alpha_acid():
    supplies = lots((0, 100, 0, KEEPS), alpha=[0.10], decay=[0.0])
    found = phased(wants([60], alpha=[[5.0]]), supplies, items=1)
    assert found.taken[0].tolist() == [[60]]
    assert found.taken_for_alpha.tolist() == [[40]]
    assert found.alpha_net.tolist() == [[pytest.approx(1.0)]]


def test_an_older_hop_gives_less_alpha_acid_for_its_weight():
    half = np.log(2)
    supplies = lots((0, 100, 0, KEEPS), alpha=[0.10], decay=[half])
    found = phased(wants([0, 0, 0], alpha=[[0.0, 2.0, 2.0]]), supplies, items=1)
    assert found.taken_for_alpha.tolist() == [[0, 40, 60]]
    assert found.alpha_net.tolist() == [[0, 0, pytest.approx(0.5)]]


def test_the_older_lot_gives_its_alpha_acid_first():
    supplies = lots((0, 50, 0, 5), (0, 50, 0, KEEPS), alpha=[0.04, 0.08], decay=[0.0, 0.0])
    found = phased(wants([0], alpha=[[4.0]]), supplies, items=1)
    assert found.taken_for_alpha.tolist() == [[50], [25]]
    assert found.alpha_given.tolist() == [[2.0], [2.0]]


def test_hops_bought_for_the_safety_stock_give_alpha_acid_as_planned():
    supplies = lots((0, 0, 0, 0), alpha=[np.nan], decay=[0.0])
    found = phased(
        wants([0, 0], alpha=[[0.0, 3.0]]),
        supplies,
        items=1,
        safety=np.array([20]),
        planned_alpha=np.array([0.10]),
    )
    assert found.net.tolist() == [[20, 20]]
    assert found.alpha_net.tolist() == [[0, pytest.approx(1.0)]]


def test_a_lot_too_weak_for_one_kit_still_serves_another():
    strong, light = 0, 1
    found = phased(
        wants([0, 10], [0, 10], item=[0, 0], narrowed={strong: np.array([0, 9])}),
        lots((0, 10, 0, 9), (0, 10, 0, 9)),
        items=1,
    )
    assert found.net.tolist() == [[0, 0], [0, 0]]
    assert found.taken[strong].tolist() == [[0, 0], [0, 10]]
    assert found.taken[light].tolist() == [[0, 10], [0, 0]]
    assert found.rank.tolist() == [0, 1]


def test_items_of_very_many_and_of_no_lots_are_netted_side_by_side():
    many = [(0, 1, 0, KEEPS)] * 40
    rows = [*many, *((item, 2, 0, KEEPS) for item in range(1, 400, 2))]
    found = phased(wants(*([1, 1, 1] for _ in range(400))), lots(*rows), items=400)
    assert found.net[0].tolist() == [0, 0, 0]
    assert found.net[1].tolist() == [0, 0, 1]
    assert found.net[2].tolist() == [1, 1, 1]
    assert found.projected[0].tolist() == [39, 38, 37]


def test_an_item_that_nobody_wants_goes_off_all_the_same():
    found = phased(wants([1, 1], item=[1]), lots((0, 7, 0, 0), (1, 2, 0, KEEPS)), items=2)
    assert found.expired.tolist() == [[0, 7], [0, 0]]
    assert found.net.tolist() == [[0, 0]]


def test_the_order_of_use_is_by_date_then_lots_before_receipts():
    order = first_expired_first(
        np.array([1, 0, 0, 0]),
        np.array([3, 9, 4, 4]),
        np.array([0, 0, 0, 0]),
        receipt=np.array([False, False, True, False]),
    )
    assert order.tolist() == [3, 2, 1, 0]


@pytest.mark.parametrize(
    ("weight", "quantity", "words"),
    [(-1, 1, "less than zero"), (1, -1, "less than zero"), (2**62, 1, "wrong unit")],
)
def test_amounts_that_cannot_be_are_refused(weight, quantity, words):
    with pytest.raises(ValueError, match=words):
        phased(wants([weight]), lots((0, quantity, 0, 1)), items=1)


def test_a_safety_stock_below_zero_is_refused():
    with pytest.raises(ValueError, match="less than zero"):
        phased(wants([1]), lots((0, 1, 0, 1)), items=1, safety=np.array([-1]))


def test_alpha_acid_is_lacking_where_no_lot_holds_any():
    found = phased(wants([0, 0], alpha=[[0.0, 3.0]]), lots((0, 9, 0, 9)), items=1)
    assert found.alpha_net.tolist() == [[0.0, 3.0]]
    assert found.taken_for_alpha.tolist() == [[0, 0]]


def test_a_lot_with_next_to_no_alpha_acid_is_used_up_and_counted():
    weak = lots((0, 9, 0, 9), alpha=[1e-300], decay=[0.0])
    found = phased(wants([0], alpha=[[3.0]]), weak, items=1)
    assert found.alpha_net.tolist() == [[3.0]]
    assert found.taken_for_alpha.tolist() == [[9]]
