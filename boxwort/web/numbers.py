"""Boxes for numbers: percent, measured and whole ones.

They are plain text boxes: whatever is typed comes back as it was typed, even where it cannot be
read.
"""

from __future__ import annotations

from typing import Any

from django import forms


def number_box(**attributes: Any) -> forms.TextInput:
    """Return a box for a number that keeps what is no number."""
    return forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", **attributes})


class WholeField(forms.IntegerField):
    """A whole number, not below zero."""

    def __init__(self, *, placeholder: str = "", **kwargs: Any) -> None:
        shown = {"placeholder": placeholder} if placeholder else {}
        super().__init__(min_value=0, widget=number_box(**shown), **kwargs)


class MeasuredField(forms.FloatField):
    """A measured number."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(widget=number_box(), **kwargs)

    def typed(self, value: float | None) -> str:
        """Return a value as the box shows it."""
        return "" if value is None else f"{value:.6g}"


class PercentField(MeasuredField):
    """Percent, with or without its sign, kept as a share of one."""

    def clean(self, value: Any) -> Any:
        """Return the share."""
        percent = super().clean(str(value or "").strip().removesuffix("%").strip())
        return None if percent is None else percent / 100

    def typed(self, value: float | None) -> str:
        """Return a share as the box shows it."""
        return "" if value is None else f"{value * 100:.4g}"
