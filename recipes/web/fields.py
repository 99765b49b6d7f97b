"""Boxes that the forms of recipes share: degrees, and items by name."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from boxwort.quantities import Measure
from boxwort.web.amounts import AmountField
from boxwort.web.numbers import MeasuredField
from inventory.models import Item, ItemKind
from inventory.models.items import FERMENTABLE_KINDS

CODE = re.compile(r"\(([A-Z0-9-]+)\)$")
_WITHOUT_UNIT = {
    "metric": {"malt": "kg", Measure.MASS: "g", Measure.VOLUME: "mL", Measure.COUNT: "each"},
    "us": {"malt": "lb", Measure.MASS: "oz", Measure.VOLUME: "mL", Measure.COUNT: "each"},
}


class TemperatureField(MeasuredField):
    """A temperature in the degrees a person reads, kept in degrees C."""

    def __init__(self, *, system: str, label: str, **kwargs: Any) -> None:
        self.us = system == "us"
        super().__init__(label=f"{label}, {'°F' if self.us else '°C'}", **kwargs)

    def clean(self, value: Any) -> Any:
        """Return degrees C."""
        degrees = super().clean(value)
        return (degrees - 32) * 5 / 9 if self.us and degrees is not None else degrees

    def typed(self, value: float | None) -> str:
        """Return degrees C as the box shows them."""
        return super().typed(value * 9 / 5 + 32 if self.us and value is not None else value)


class ItemField(forms.CharField):
    """One of the items at hand, by its name with its code, its code or its name alone."""

    def __init__(self, items: Sequence[Item], *, listed: str = "items", **kwargs: Any) -> None:
        box = forms.TextInput(attrs={"list": listed, "autocomplete": "off"})
        super().__init__(widget=box, **kwargs)
        self.by_code = {item.code.casefold(): item for item in items}
        self.by_name: dict[str, list[Item]] = {}
        for item in items:
            self.by_name.setdefault(item.name.casefold(), []).append(item)

    def clean(self, value: Any) -> Any:
        """Return the item; an empty box is None."""
        text = super().clean(value)
        return self._found(text) if text else None

    def _found(self, text: str) -> Item:
        coded = CODE.search(text)
        wanted = (coded[1] if coded else text).casefold()
        if wanted in self.by_code:
            return self.by_code[wanted]
        named = self.by_name.get(text.casefold(), [])
        if len(named) == 1:
            return named[0]
        if named:
            msg = f"Several items are called {text}. Write the code of the one you mean."
            raise ValidationError(msg, code="item-not-clear")
        msg = f"No item is called {text}. Choose one of the list, or write its code."
        raise ValidationError(msg, code="item-not-known")


def unit_without(item: Item, system: str) -> str:
    """Return the unit that an amount of an item is in when none is written."""
    units = _WITHOUT_UNIT["us" if system == "us" else "metric"]
    if ItemKind(item.kind) in FERMENTABLE_KINDS and item.measure == Measure.MASS:
        return units["malt"]
    return units[Measure(item.measure)]


def amount_of(item: Item, text: str, system: str) -> Any:
    """Return an amount of an item, as typed, in units of stock.

    Raises
    ------
    ValidationError: it cannot be read, or is in a unit that does not measure the item.
    """
    unit = unit_without(item, system)
    return AmountField(measure=Measure(item.measure), unit=unit, required=False).clean(text)
