"""A form's box for weekdays: one to tick for each."""

from __future__ import annotations

from typing import Any

from django import forms

from boxwort.weekdays import NAMES


class WeekdaysField(forms.MultipleChoiceField):
    """Weekdays to tick, kept as their numbers in order, 0 for Monday; at least one."""

    def __init__(self, **kwargs: Any) -> None:
        choices = [(str(number), name) for number, name in enumerate(NAMES)]
        boxes = forms.CheckboxSelectMultiple(attrs={"class": "weekdays"})
        super().__init__(choices=choices, widget=boxes, **kwargs)
        self.error_messages["required"] = "Tick at least one weekday."

    def prepare_value(self, value: Any) -> Any:
        """Return the boxes to tick for weekdays as they are kept."""
        return list(value) if isinstance(value, str) else value

    def clean(self, value: Any) -> Any:
        """Return the weekdays as they are kept."""
        return "".join(sorted(super().clean(value)))

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Return whether other weekdays than those shown are ticked."""
        return sorted(initial or "") != sorted(data or ())
