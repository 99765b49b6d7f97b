import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planning.engine.boxes import Share, alike, boxes_in, cut_to, filled

_LOTS = st.lists(st.integers(0, 6), max_size=5)


def test_what_does_not_fill_a_box_stays():
    assert filled(3, [(1, 0), (2, 2), (3, 5)]) == (
        Share(lot=2, boxes=2),
        Share(lot=3, boxes=1),
    )


def test_nothing_here_fills_nothing():
    assert filled(4, []) == ()
    assert alike({"kit": ()}) == ()


def test_boxes_of_which_one_kind_is_missing_are_no_boxes():
    kits, yeast = (Share(lot=1, boxes=3),), (Share(lot=2, boxes=2),)
    with pytest.raises(ValueError, match="same boxes"):
        alike({"kit": kits, "yeast": yeast})


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(wanted=st.integers(0, 12), kits=_LOTS, yeast=_LOTS)
def test_no_box_is_lost_and_no_lot_gives_more_than_it_holds(wanted, kits, yeast):
    kinds = {
        "kit": filled(wanted, list(enumerate(kits))),
        "yeast": filled(wanted, list(enumerate(yeast))),
    }
    together = min(boxes_in(shares) for shares in kinds.values())
    rows = alike({kind: cut_to(together, shares) for kind, shares in kinds.items()})
    assert sum(row.boxes for row in rows) == together == min(wanted, sum(kits), sum(yeast))
    for kind, held in (("kit", kits), ("yeast", yeast)):
        for lot, holds in enumerate(held):
            assert sum(row.boxes for row in rows if row.lots[kind] == lot) <= holds
