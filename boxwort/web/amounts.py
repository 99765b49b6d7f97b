"""A form's field for an amount of stock: a number, with or without a unit, as people type it."""

from __future__ import annotations

import re
from decimal import Decimal
from string import ascii_letters
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from boxwort.quantities import Measure, amount_in, natural_unit, stocked, unit_named

MOST = Decimal(10) ** 12
_FINEST = 10
#: A comma parts thousands and nothing else, so that 1,5 is refused and never read as fifteen.
NUMBER = re.compile(r"(\d+|\d{1,3}(,\d{3})+)?(\.\d+)?(?<=\d)", re.ASCII)


class AmountField(forms.CharField):
    """Reads "12.5", "12.5 kg" or "1,250 g" as whole units of stock; empty is None.

    A number without a unit is in the field's own unit, which its page shows beside the box.
    """

    def __init__(self, *, measure: Measure, unit: str, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.measure = measure
        self.unit = unit
        self.widget.attrs.setdefault("inputmode", "decimal")
        self.widget.attrs.setdefault("autocomplete", "off")

    def to_python(self, value: Any) -> Any:
        """Return the amount in whole units of stock."""
        text = super().to_python(value)
        if not text:
            return None
        number = text.rstrip(f"{ascii_letters} ")
        symbol = text[len(number) :].strip() or self.unit
        return stocked(self._number(number), self._symbol(symbol))

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Return whether another amount than the one shown was typed."""
        return str(initial or "").strip() != str(data or "").strip()

    def _number(self, text: str) -> Decimal:
        if not NUMBER.fullmatch(text) or Decimal(text.replace(",", "")) >= MOST:
            msg = f"Write a number of {self.unit}, such as 12.5 or 1,250, that is not below zero."
            raise ValidationError(msg, code="not-an-amount")
        return Decimal(text.replace(",", ""))

    def _symbol(self, text: str) -> str:
        try:
            unit = unit_named(text)
        except ValueError as unknown:
            msg = f"{unknown}."
            raise ValidationError(msg, code="unknown-unit") from unknown
        if unit.measure is not self.measure:
            msg = f"This is kept by {self.measure.value}, and {unit.symbol} does not measure that."
            raise ValidationError(msg, code="unit-of-another-measure")
        return unit.symbol


def typed_amount(quantity: int, measure: Measure, system: str) -> tuple[str, str]:
    """Return a stock quantity as a form shows it for changing, and the unit it is in.

    >>> typed_amount(12_480_000, Measure.MASS, "metric")
    ('12.480', 'kg')
    """
    unit = unit_named(natural_unit(quantity, measure, system))
    return f"{amount_in(quantity, unit.symbol):.{unit.decimals}f}", unit.symbol


def exact_amount(quantity: int, measure: Measure, system: str) -> str:
    """Return a stock quantity for a box: as few decimals as give the same quantity again.

    >>> exact_amount(4_400_000, Measure.MASS, "metric")
    '4.4 kg'
    """
    symbol = natural_unit(quantity, measure, system)
    for decimals in range(_FINEST):
        written = f"{amount_in(quantity, symbol):.{decimals}f}"
        if stocked(Decimal(written), symbol) == quantity:
            break
    return f"{written} {symbol}"
