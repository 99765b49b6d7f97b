"""Netting against the worked examples of the planning textbooks.

Marks: S read in the source, C computed from the source's inputs by its own rules.
Convention of all of them: receipts at the start of a period, projected on hand at its end.
"""

from __future__ import annotations

from planning.engine.netting import lot_for_lot, netted, releases

KRAJEWSKI_GROSS = [150, 0, 0, 120, 0, 150, 120, 0]
KRAJEWSKI_SCHEDULED = [230, 0, 0, 0, 0, 0, 0, 0]


def fixed(quantity: int):
    """Order one fixed quantity, or as many of it as the net requirement takes."""
    return lambda net: -(-net // quantity) * quantity


def column(rows, name: str) -> list[int]:
    return [getattr(row, name) for row in rows]


def by_period(quantities) -> dict[int, int]:
    """Quantities that are not zero, by period counted from 1 as the books do."""
    return {at: quantity for at, quantity in enumerate(quantities, start=1) if quantity}


def test_orlicky_nets_on_hand_and_an_open_order():
    """Orlicky, Material Requirements Planning, ch. 7 (S)."""
    rows = netted([0, 20, 0, 25, 0, 15, 12, 0], [0, 0, 30, 0, 0, 0, 0, 0], on_hand=23)

    assert by_period(column(rows, "net")) == {6: 7, 7: 12}


def test_krajewski_item_c_lot_for_lot():
    """Krajewski and Ritzman, item C, lot for lot (S inputs, C results)."""
    rows = netted(KRAJEWSKI_GROSS, KRAJEWSKI_SCHEDULED, on_hand=37, lot_rule=lot_for_lot)

    assert by_period(column(rows, "planned_receipt")) == {4: 3, 6: 150, 7: 120}


def test_krajewski_item_c_fixed_quantity_and_its_releases():
    """Krajewski and Ritzman, item C, fixed 230, lead time 2 (S inputs, C results)."""
    rows = netted(KRAJEWSKI_GROSS, KRAJEWSKI_SCHEDULED, on_hand=37, lot_rule=fixed(230))

    assert column(rows, "projected") == [117, 117, 117, 227, 227, 77, 187, 187]
    released = releases(rows, lead_buckets=2)
    assert by_period(released.by_bucket) == {2: 230, 5: 230}
    assert released.past_due == 0


def test_fixed_63_projects_and_costs_what_the_example_does():
    """Fixed quantity 63, setup 100, holding 1 a unit and period (S inputs, C results)."""
    rows = netted([0, 50, 0, 10, 40, 20, 30, 5], [0] * 8, on_hand=20, lot_rule=fixed(63))

    projected = column(rows, "projected")
    orders = by_period(column(rows, "planned_receipt"))
    assert projected == [20, 33, 33, 23, 46, 26, 59, 54]
    assert 100 * len(orders) + sum(projected) == 594


def test_jacobs_and_chase_product_structure_by_levels():
    """Jacobs and Chase, A = 2B + 3C + 2D with lots of 50 for E and 180 for F (S inputs, C results).

    Each component's gross requirement is its parents' releases; netted in low-level order.
    """
    lead = {"A": 1, "B": 2, "C": 1, "D": 1, "E": 2, "F": 1}
    parents = {
        "A": {},
        "B": {"A": 2},
        "C": {"A": 3},
        "E": {"B": 1},
        "F": {"B": 2, "C": 2},
        "D": {"A": 2, "C": 1, "E": 2},
    }
    on_hand = {"C": 15, "D": 50}
    rules = {"E": fixed(50), "F": fixed(180)}
    released: dict[str, tuple[int, ...]] = {}
    for item, uses in parents.items():
        gross = [0] * 8
        if item == "A":
            gross[7] = 20
        for parent, each in uses.items():
            gross = [held + each * made for held, made in zip(gross, released[parent], strict=True)]
        scheduled = [0, 20, 0, 0, 0, 0, 0, 0] if item == "E" else [0] * 8
        rows = netted(
            gross,
            scheduled,
            on_hand=on_hand.get(item, 0),
            lot_rule=rules.get(item, lot_for_lot),
        )
        orders = releases(rows, lead_buckets=lead[item])
        assert orders.past_due == 0
        released[item] = orders.by_bucket

    assert {item: by_period(found) for item, found in released.items()} == {
        "A": {7: 20},
        "B": {5: 40},
        "C": {6: 45},
        "E": {3: 50},
        "F": {4: 180},
        "D": {2: 50, 5: 45, 6: 40},
    }
