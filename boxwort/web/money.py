"""A form's box for an amount of money."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms

from boxwort.figures import MONEY_SCALE


class MoneyField(forms.DecimalField):
    """An amount of the site's currency, not below zero, kept in whole ten-thousandths."""

    def __init__(self, **kwargs: Any) -> None:
        box = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})
        super().__init__(
            min_value=0, max_digits=12, decimal_places=MONEY_SCALE, widget=box, **kwargs
        )

    def clean(self, value: Any) -> Any:
        """Return ten-thousandths; an empty box is None."""
        amount = super().clean(value)
        return None if amount is None else int(amount.scaleb(MONEY_SCALE))

    def typed(self, ten_thousandths: int | None) -> str:
        """Return money as the box shows it."""
        if ten_thousandths is None:
            return ""
        return f"{Decimal(ten_thousandths).scaleb(-MONEY_SCALE).normalize():f}"
