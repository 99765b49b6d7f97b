"""A row of a form that names an item and an amount of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from boxwort.web.numbers import number_box
from inventory.models import Item
from recipes.web.fields import ItemField, amount_of


class AmountRow(forms.Form):
    """One row; a row without item and amount says nothing yet."""

    amount = forms.CharField(label="Amount", required=False, widget=number_box())

    def __init__(self, items: Sequence[Item], system: str, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.system = system
        self.fields["item"] = ItemField(items, label="Item", required=False)

    @property
    def number(self) -> str:
        """The name of the row within the form."""
        return str(self.prefix).removeprefix("row-")

    def clean(self) -> dict[str, Any]:
        """Read the amount by its item; once every box can be read, make of them what they say."""
        typed: dict[str, Any] = super().clean() or self.cleaned_data
        item, text = typed.get("item"), typed.get("amount", "")
        if item is None:
            if text and "item" not in self.errors:
                self.add_error("item", "Say of what this is the amount.")
            return typed
        try:
            quantity = amount_of(item, text, self.system) or 0
        except ValidationError as problem:
            self.add_error("amount", problem)
        if not self.errors:
            self.make(item, quantity, typed)
        return typed

    def make(self, item: Item, quantity: int, typed: dict[str, Any]) -> None:
        """Take the row's facts from boxes that can all be read; each kind of row has its own."""
        raise NotImplementedError
