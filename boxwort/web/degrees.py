"""A form's box for a temperature."""

from __future__ import annotations

from typing import Any

from django import forms


class DegreesField(forms.FloatField):
    """A temperature in the degrees a person reads, kept in degrees C."""

    def __init__(self, *, system: str, label: str, help_text: str = "") -> None:
        self.us = system == "us"
        super().__init__(label=f"{label}, in {'°F' if self.us else '°C'}", help_text=help_text)

    def typed(self, celsius: float) -> float:
        """Return degrees C as the box shows them."""
        return round(celsius * 9 / 5 + 32 if self.us else celsius, 1)

    def clean(self, value: Any) -> float:
        """Return what was typed in degrees C."""
        degrees = float(super().clean(value))
        return (degrees - 32) * 5 / 9 if self.us else degrees
