"""A form's field for a gravity, as people read it off: SG, or degrees Plato with their sign."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from boxwort.web.amounts import NUMBER
from recipes.brewing.gravity import sg_from_plato

_LONGEST = 20
_PLATO_SIGNS = ("°plato", "plato", "°p", "p")


class GravityField(forms.CharField):
    """Reads "1.052" as specific gravity and "12.9 P" as degrees Plato; empty is None.

    >>> round(GravityField().clean("12 P"), 4)
    1.0484
    """

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("help_text", "Specific gravity, or degrees Plato as in 12.9 P.")
        super().__init__(**kwargs)
        self.widget.attrs.setdefault("maxlength", _LONGEST)
        self.widget.attrs.setdefault("inputmode", "decimal")
        self.widget.attrs.setdefault("autocomplete", "off")

    def to_python(self, value: Any) -> Any:
        """Return the gravity as SG."""
        text = str(super().to_python(value)).casefold().replace("\N{NO-BREAK SPACE}", " ")
        if not text:
            return None
        sign = next((sign for sign in _PLATO_SIGNS if text.endswith(sign)), "")
        number = text.removesuffix(sign).removesuffix("sg").strip()
        try:
            if not NUMBER.fullmatch(number):
                raise ValueError  # "nan" and "1e9" are numbers to a machine, not off a hydrometer
            read = float(number.replace(",", ""))
            return sg_from_plato(read) if sign else read
        except ValueError as problem:
            msg = "Write a gravity such as 1.052, or 12.9 P."
            raise ValidationError(msg, code="not-a-gravity") from problem
