"""Amounts are read as people type them, with or without a unit."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from boxwort.quantities import Measure
from boxwort.web.amounts import AmountField, typed_amount


def kilograms(**more: bool) -> AmountField:
    return AmountField(measure=Measure.MASS, unit="kg", **more)


@pytest.mark.parametrize(
    ("typed", "milligrams"),
    [
        ("12.5", 12_500_000),
        ("12.5 kg", 12_500_000),
        ("1,250 g", 1_250_000),
        ("1250g", 1_250_000),
        ("1 oz", 28_350),
        ("0", 0),
        (".5", 500_000),
        ("1,250.75 g", 1_250_750),
    ],
)
def test_a_number_is_in_the_box_unit_unless_another_follows_it(typed: str, milligrams: int) -> None:
    assert kilograms().clean(typed) == milligrams


def test_an_empty_box_is_no_amount() -> None:
    assert kilograms(required=False).clean(" ") is None


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        ("", "required"),
        ("a handful", "not-an-amount"),
        ("-1", "not-an-amount"),
        ("NaN", "not-an-amount"),
        ("1,5", "not-an-amount"),
        ("1e3", "not-an-amount"),
        ("1e999", "not-an-amount"),
        ("9999999999999", "not-an-amount"),
        ("3 stone", "unknown-unit"),
        ("3 L", "unit-of-another-measure"),
    ],
)
def test_what_is_no_amount_is_refused_with_what_to_write(typed: str, code: str) -> None:
    with pytest.raises(ValidationError) as refused:
        kilograms().clean(typed)
    assert refused.value.error_list[0].code == code


def test_an_amount_left_as_it_was_shown_is_not_a_change() -> None:
    shown, unit = typed_amount(12_480_123, Measure.MASS, "metric")
    assert (shown, unit) == ("12.480", "kg")
    assert not kilograms().has_changed(shown, " 12.480 ")
    assert kilograms().has_changed(shown, "12.481")


def test_an_american_reads_and_types_pounds() -> None:
    assert typed_amount(4_535_924, Measure.MASS, "us") == ("10.000", "lb")
