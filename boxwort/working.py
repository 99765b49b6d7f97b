"""A computed figure that can show its working.

Pure functions of the trade return a :class:`Working`: the value, the formula it came from, the
numbers that went in with their units, and the published source. Pages, the API and documents
all render the same object, so they cannot disagree. The checks below refuse numbers that no figure
can be made from.

>>> abv = Working(
...     name="Example", formula="a + b", value=3.0, unit="g", source="common practice",
...     terms=(Term(name="a", value=1.0, unit="g"), Term(name="b", value=2.0, unit="g")),
... )
>>> Working.from_json(abv.as_json()) == abv
True
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

Numbers = TypeVar("Numbers", float, NDArray[np.float64])
"""A number, or an array of them: the formulas a planner needs in bulk take either."""
_HARMLESS = 0.5  # there is nothing wrong in an empty array


@dataclass(frozen=True, kw_only=True)
class Term:
    """One number that went into a figure, with its unit ("" for a pure number)."""

    name: str
    value: float
    unit: str


@dataclass(frozen=True, kw_only=True)
class Working:
    """A figure with everything needed to check it by hand.

    Attributes
    ----------
    name: what the figure is, in the words of the trade ("Original gravity").
    formula: the formula in plain text, using the names of ``terms``.
    terms: the numbers put in.
    value, unit: the result, unrounded.
    source: the publication the formula comes from, or "common practice".
    notes: anything a reader must know (an extrapolation, a value from memory).
    parts: the figures this one is made of (each hop addition of an IBU).
    """

    name: str
    formula: str
    terms: tuple[Term, ...]
    value: float
    unit: str
    source: str
    notes: tuple[str, ...] = ()
    parts: tuple[Working, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return plain lists, dicts, strings and floats, ready for a JSON column."""
        return {
            "name": self.name,
            "formula": self.formula,
            "terms": [
                {"name": term.name, "value": term.value, "unit": term.unit} for term in self.terms
            ],
            "value": self.value,
            "unit": self.unit,
            "source": self.source,
            "notes": list(self.notes),
            "parts": [part.as_json() for part in self.parts],
        }

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> Working:
        """Rebuild a figure stored by :meth:`as_json`."""
        return cls(
            name=stored["name"],
            formula=stored["formula"],
            terms=tuple(Term(**term) for term in stored["terms"]),
            value=stored["value"],
            unit=stored["unit"],
            source=stored["source"],
            notes=tuple(stored["notes"]),
            parts=tuple(cls.from_json(part) for part in stored["parts"]),
        )


def positive(what: str, value: Numbers) -> Numbers:
    """Return ``value``, or raise :class:`ValueError` in plain words when it is not above zero.

    Of an array, every number is looked at and the worst is named; so in the checks below.
    """
    least, most = _extremes(value)
    if not (least > 0 and most < math.inf):
        msg = f"{what} must be more than zero, not {most if least > 0 else least:g}"
        raise ValueError(msg)
    return value


def not_negative(what: str, value: Numbers) -> Numbers:
    """Return ``value``, or raise :class:`ValueError` in plain words when it is below zero."""
    least, most = _extremes(value)
    if not (least >= 0 and most < math.inf):
        msg = f"{what} cannot be less than zero, and was {most if least >= 0 else least:g}"
        raise ValueError(msg)
    return value


def share(what: str, value: Numbers) -> Numbers:
    """Return ``value``, or raise :class:`ValueError` in plain words when it is not within 0-1.

    >>> share("alpha acid", 5)
    Traceback (most recent call last):
    ...
    ValueError: alpha acid is a share from 0 to 1 (5 % is 0.05), and was 5
    """
    least, most = _extremes(value)
    if not (least >= 0 and most <= 1):
        worst = most if least >= 0 else least
        msg = f"{what} is a share from 0 to 1 (5 % is 0.05), and was {worst:g}"
        raise ValueError(msg)
    return value


def _extremes(value: float | NDArray[np.float64]) -> tuple[float, float]:
    """Return the least and the greatest; what is not a number makes both that."""
    if not isinstance(value, np.ndarray):
        return value, value
    if not value.size:
        return _HARMLESS, _HARMLESS
    return float(value.min()), float(value.max())
