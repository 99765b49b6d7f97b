"""Bills exploded by their low-level codes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.explosion import Bills, exploded, low_level_codes
from planning.engine.usage import quantity_needed


def bills(*rows: tuple[int, int, int, float]) -> Bills:
    parent, component, packed, overage = zip(*rows, strict=True) if rows else ((), (), (), ())
    return Bills(
        parent=np.array(parent, dtype=np.int64),
        component=np.array(component, dtype=np.int64),
        packed=np.array(packed, dtype=np.int64),
        overage=np.array(overage, dtype=np.float64),
    )


def test_an_item_stands_on_the_lowest_level_at_which_anything_takes_it():
    box, pack, hop = 0, 1, 2
    assert low_level_codes(
        3, bills((box, pack, 1, 0), (box, hop, 5, 0), (pack, hop, 20, 0))
    ).tolist() == [0, 1, 2]


def test_items_without_bills_stand_on_the_highest_level():
    assert low_level_codes(2, bills()).tolist() == [0, 0]


def test_bills_that_go_round_in_a_circle_are_refused_by_name():
    with pytest.raises(ValueError, match="circle: PACK, BOX"):
        low_level_codes(3, bills((0, 1, 1, 0), (1, 0, 1, 0)), ["PACK", "BOX", "MALT"])


def test_what_only_goes_into_a_circle_is_not_named_as_part_of_it():
    rows = bills((0, 1, 1, 0), (1, 0, 1, 0), (1, 2, 5, 0), (3, 0, 1, 0))
    with pytest.raises(ValueError, match=r"circle: PACK, BOX$"):
        low_level_codes(4, rows, ["PACK", "BOX", "MALT", "CRATE"])


def test_two_kits_add_up_what_they_take_of_one_item():
    taken = exploded(np.array([[2, 0], [0, 3]]), bills((0, 2, 10, 0), (1, 2, 7, 0)), items=3)
    assert taken.tolist() == [[0, 0], [0, 0], [20, 21]]


def test_more_than_can_be_counted_is_refused():
    with pytest.raises(ValueError, match="wrong unit"):
        exploded(np.array([[10**9]]), bills((0, 1, 10**9, 0)), items=2)


rows = st.lists(
    st.tuples(
        st.integers(0, 3),
        st.integers(0, 5),
        st.integers(1, 30_000),
        st.sampled_from([0.0, 0.005, 0.02, 0.1, 0.333]),
    ),
    max_size=12,
)


@settings(max_examples=80)
@given(
    rows, st.lists(st.lists(st.integers(0, 400), min_size=3, max_size=3), min_size=4, max_size=4)
)
def test_every_row_is_rounded_up_as_it_will_be_reserved(found, releases):
    taken = exploded(np.array(releases), bills(*found), items=6)
    for item in range(6):
        for bucket in range(3):
            assert taken[item, bucket] == sum(
                quantity_needed(releases[parent][bucket], packed, overage)
                for parent, component, packed, overage in found
                if component == item
            )
