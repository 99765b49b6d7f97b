"""A form's box for a day."""

from __future__ import annotations

from django import forms


class DayInput(forms.DateInput):
    """A date box that the browser helps with."""

    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")
