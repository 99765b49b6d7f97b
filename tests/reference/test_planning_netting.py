"""Netting and explosion against the worked examples of the planning textbooks.

Marks: S read in the source, C computed from the source's inputs by its own rules.
Convention of all of them: receipts at the start of a period, projected on hand at its end.
"""

from __future__ import annotations

import numpy as np

from planning.engine.explosion import Bills, exploded, low_level_codes
from planning.engine.sizing import FIXED, LotSizing
from tests.reference.bookkeeping import by_period, netted

KRAJEWSKI_GROSS = [150, 0, 0, 120, 0, 150, 120, 0]
KRAJEWSKI_SCHEDULED = [230, 0, 0, 0, 0, 0, 0, 0]
PRODUCTS = "ABCEFD"
STRUCTURE = [
    ("A", "B", 2), ("A", "C", 3), ("A", "D", 2), ("B", "E", 1), ("B", "F", 2),
    ("C", "F", 2), ("C", "D", 1), ("E", "D", 2),
]  # fmt: skip


def structure() -> Bills:
    parent, component, each = zip(*STRUCTURE, strict=True)
    return Bills(
        parent=np.array([PRODUCTS.index(name) for name in parent]),
        component=np.array([PRODUCTS.index(name) for name in component]),
        packed=np.array(each),
        overage=np.zeros(len(each)),
    )


def test_orlicky_nets_on_hand_and_an_open_order():
    """Orlicky, Material Requirements Planning, ch. 7 (S)."""
    found = netted([0, 20, 0, 25, 0, 15, 12, 0], [0, 0, 30, 0, 0, 0, 0, 0], on_hand=23)

    assert by_period(found.net) == {6: 7, 7: 12}


def test_krajewski_item_c_releases_a_fixed_quantity_two_weeks_before():
    """Krajewski and Ritzman, item C, fixed 230, lead time 2 (S inputs, C results)."""
    found = netted(KRAJEWSKI_GROSS, KRAJEWSKI_SCHEDULED, on_hand=37)

    assert by_period(found.net) == {4: 3, 6: 150, 7: 120}
    assert by_period(found.releases(LotSizing(kind=FIXED, quantity=230), lead=2)) == {
        2: 230,
        5: 230,
    }


def test_jacobs_and_chase_low_level_codes():
    """Jacobs and Chase, A = 2B + 3C + 2D and below: A0 B1 C1 E2 F2 D3 (S)."""
    codes = low_level_codes(len(PRODUCTS), structure(), PRODUCTS)

    assert dict(zip(PRODUCTS, codes.tolist(), strict=True)) == {
        "A": 0, "B": 1, "C": 1, "E": 2, "F": 2, "D": 3,
    }  # fmt: skip


def test_jacobs_and_chase_product_structure_by_levels():
    """Jacobs and Chase, A = 2B + 3C + 2D with lots of 50 for E and 180 for F (S inputs, C results).

    What an item's releases take is exploded once all that is wanted of it is known, level by level.
    """
    lead = {"A": 1, "B": 2, "C": 1, "D": 1, "E": 2, "F": 1}
    on_hand = {"C": 15, "D": 50}
    scheduled = {"E": [0, 20, 0, 0, 0, 0, 0, 0]}
    rules = {"E": LotSizing(kind=FIXED, quantity=50), "F": LotSizing(kind=FIXED, quantity=180)}
    bills = structure()
    codes = low_level_codes(len(PRODUCTS), bills)
    gross = np.zeros((len(PRODUCTS), 8), dtype=np.int64)
    gross[PRODUCTS.index("A"), 7] = 20
    releases = np.zeros_like(gross)
    for level in range(codes.max() + 1):
        for at in np.flatnonzero(codes == level).tolist():
            name = PRODUCTS[at]
            rows = netted(
                gross[at].tolist(), scheduled.get(name, [0] * 8), on_hand=on_hand.get(name, 0)
            )
            releases[at] = rows.releases(rules.get(name, LotSizing()), lead[name])
        of_level = bills.at(codes[bills.parent] == level)
        gross += exploded(releases, of_level, items=len(PRODUCTS))

    found = {name: by_period(releases[at].tolist()) for at, name in enumerate(PRODUCTS)}
    assert found == {
        "A": {7: 20},
        "B": {5: 40},
        "C": {6: 45},
        "E": {3: 50},
        "F": {4: 180},
        "D": {2: 50, 5: 45, 6: 40},
    }
