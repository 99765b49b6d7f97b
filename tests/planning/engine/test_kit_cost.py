"""What a kit costs and earns, from its parts."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.kit_cost import CostedPart, cost_of, kit_cost, margin, margin_share

MALT = CostedPart(name="Malt", packed=4_000_000, overage=0.01, cost=(400_000, 25_000_000))
YEAST = CostedPart(
    name="Yeast", packed=1, unit="packs", in_unit=1, cost=(35_000, 1), at_dispatch=True
)


def test_overage_is_part_of_the_cost():
    assert MALT.exact == Fraction(64_640)


def test_what_is_added_at_dispatch_can_be_told_apart():
    parts = [MALT, YEAST]
    assert cost_of(parts) == cost_of(parts, at_dispatch=False) + cost_of(parts, at_dispatch=True)
    assert cost_of(parts, at_dispatch=True) == 35_000


def test_a_part_of_unknown_cost_is_named_and_left_out():
    found = kit_cost([MALT, CostedPart(name="Label", packed=1)], currency="EUR")
    assert found.value == 6.464
    assert "left out: Label" in found.notes[-1]
    assert [part.name for part in found.parts] == ["Malt"]


def test_a_part_shows_what_it_was_bought_for_and_when_it_is_added():
    """4 kg and 1 % of malt at 40.00 for 25 kg: 6.464 by hand."""
    malt, yeast = kit_cost([MALT, YEAST], currency="EUR").parts
    assert [term.value for term in malt.terms] == [4_000, 1, 40, 25_000]
    assert (malt.value, malt.notes, yeast.notes) == (6.464, (), ("Added at dispatch.",))


def test_the_margin_is_what_is_left_of_the_price():
    assert margin(100_000, Fraction(64_640), currency="EUR").value == 3.536
    assert margin_share(100_000, Fraction(64_640)) == 0.3536
    assert margin_share(0, Fraction(1)) is None


@settings(max_examples=20)
@given(
    st.lists(
        st.tuples(
            st.integers(1, 10**7), st.integers(0, 10**7), st.integers(1, 10**8), st.booleans()
        ),
        max_size=4,
    )
)
def test_the_parts_sum_to_the_kit_exactly(rows):
    parts = [
        CostedPart(name="part", packed=packed, cost=(amount, quantity), at_dispatch=late)
        for packed, amount, quantity, late in rows
    ]
    exact = sum(
        (Fraction(amount * packed, quantity) for packed, amount, quantity, _ in rows), Fraction(0)
    )
    assert cost_of(parts) == exact
