"""Amounts are whole, exact, and shown again as they were typed."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boxwort.quantities import (
    UNITS,
    Measure,
    amount_in,
    natural_unit,
    read_naturally,
    shown,
    stocked,
    unit_named,
)

SYMBOLS = sorted(UNITS)


@pytest.mark.parametrize(
    ("amount", "symbol", "stock"),
    [
        ("1", "lb", 453_592),
        ("100", "lb", 45_359_237),
        ("1", "oz", 28_350),
        ("16", "oz", 453_592),
        ("1", "US gal", 3_785_412),
        ("5", "US gal", 18_927_059),
        ("0.0005", "g", 1),
        ("0.0004", "g", 0),
        ("25", "kg", 25_000_000),
        ("3", "each", 3),
    ],
)
def test_a_typed_amount_is_rounded_once_to_whole_stock(
    amount: str, symbol: str, stock: int
) -> None:
    """Exact factors: 1 lb = 453.59237 g (1959), 1 US gal = 3.785411784 L (231 cubic inches)."""
    assert stocked(Decimal(amount), symbol) == stock


@given(st.sampled_from(SYMBOLS), st.integers(0, 10**7))
def test_what_is_shown_again_equals_what_was_typed(symbol: str, steps: int) -> None:
    unit = UNITS[symbol]
    typed = Decimal(steps).scaleb(-unit.decimals)
    assert shown(stocked(typed, symbol), symbol) == f"{typed:,} {symbol}"


@given(st.sampled_from(SYMBOLS), st.integers(-(10**15), 10**15))
def test_stock_survives_a_trip_through_any_unit(symbol: str, quantity: int) -> None:
    assert stocked(amount_in(quantity, symbol), symbol) == quantity


@pytest.mark.parametrize("written", ["US gal", "us gal", "USGAL", " usGal "])
def test_a_unit_is_known_by_any_capitals_and_spaces(written: str) -> None:
    assert unit_named(written).symbol == "US gal"


def test_an_unknown_unit_is_named_with_those_that_are_known() -> None:
    with pytest.raises(ValueError, match="'stone' is not a unit; use one of mg, g, kg"):
        unit_named("stone")


@pytest.mark.parametrize(
    ("quantity", "measure", "system", "read"),
    [
        (999_950, Measure.MASS, "metric", "1,000.0 g"),
        (1_000_000, Measure.MASS, "metric", "1.000 kg"),
        (-2_500_000, Measure.MASS, "metric", "-2.500 kg"),
        (453_592, Measure.MASS, "us", "1.000 lb"),
        (453_591, Measure.MASS, "us", "16.00 oz"),
        (250_000, Measure.VOLUME, "metric", "250.0 mL"),
        (3_785_412, Measure.VOLUME, "us", "1.00 US gal"),
        (0, Measure.MASS, "metric", "0.0 g"),
        (1_200, Measure.COUNT, "us", "1,200 each"),
    ],
)
def test_a_quantity_is_read_in_the_unit_a_person_would_use(
    quantity: int, measure: Measure, system: str, read: str
) -> None:
    assert read_naturally(quantity, measure, system) == read


@given(st.integers(-(10**12), 10**12), st.sampled_from(Measure), st.sampled_from(["metric", "us"]))
def test_the_unit_chosen_measures_the_same_thing(
    quantity: int, measure: Measure, system: str
) -> None:
    assert unit_named(natural_unit(quantity, measure, system)).measure is measure
