"""What a certificate of analysis says, put to the units the books keep; the paper's own are kept.

Of each kind the first unit is the books' own way of writing it. What is written in another one is
stored in the books' unit, with the paper's number and unit beside it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal

from boxwort.errors import Refusal
from boxwort.laboratory import (
    lintner_from_wk,
    litre_degrees_per_kg,
    lovibond_from_wort_srm,
    potential,
    srm_from_ebc,
)
from inventory.models import AnalysisKind

_SAME = 1e-6  # relative: a number that a paper, a sheet or a program wrote out in decimals

Conversion = Callable[[Decimal], float]


@dataclass(frozen=True, kw_only=True)
class Said:
    """A value in the unit of the books, and as the paper has it where that is another."""

    value: float
    given_value: float | None = None
    given_unit: str = ""


def _times(factor: str) -> Conversion:
    return lambda number: float(number * Decimal(factor))


_PER_CENT = {"%": _times("0.01")}

WRITTEN_UNITS: dict[AnalysisKind, dict[str, Conversion]] = {
    AnalysisKind.ALPHA: _PER_CENT,
    AnalysisKind.STORAGE_INDEX: {"ratio": float},
    AnalysisKind.EXTRACT: {
        "L°/kg": float,
        "ppg": lambda number: litre_degrees_per_kg(float(number)),
        # a share of the malt that the basis names; the lot's moisture counts when it is read
        "%": lambda number: potential(float(number) / 100, 0.0),
    },
    AnalysisKind.COLOUR: {
        "°L": float,
        "EBC": lambda number: lovibond_from_wort_srm(srm_from_ebc(float(number))),
        "SRM": lambda number: lovibond_from_wort_srm(float(number)),
    },
    AnalysisKind.MOISTURE: _PER_CENT,
    AnalysisKind.POWER: {"°Lintner": float, "°WK": lambda number: lintner_from_wk(float(number))},
    AnalysisKind.CELLS: {"billion cells": _times("1e9")},
    AnalysisKind.VIABILITY: _PER_CENT,
}
UNIT_NAMES = tuple(dict.fromkeys(unit for units in WRITTEN_UNITS.values() for unit in units))


def said(kind: AnalysisKind, number: Decimal, unit: str) -> Said:
    """Return what a paper says of a kind, in the books' unit.

    Raises
    ------
    Refusal: ``unit-does-not-fit``, ``value-not-possible``.
    """
    conversion = WRITTEN_UNITS[kind].get(unit)
    if conversion is None:
        raise Refusal(
            "unit-does-not-fit",
            f"{kind.label} is not measured in {unit or 'a number without a unit'}.",
            f"Write {' or '.join(WRITTEN_UNITS[kind])}.",
        )
    try:
        value = conversion(number)
    except ValueError as problem:
        raise Refusal(
            "value-not-possible",
            f"{kind.label} was given as {number:f} {unit}: {problem}.",
            "Read the certificate again, the number and its unit.",
        ) from None
    if unit == next(iter(WRITTEN_UNITS[kind])):
        return Said(value=value)
    return Said(value=value, given_value=float(number), given_unit=unit)


def check_given(kind: AnalysisKind, value: float, given_value: float | None, unit: str) -> None:
    """Refuse what the paper is said to have where the value does not follow from it."""
    if given_value is None and not unit:
        return
    number = Decimal(str(given_value or 0))
    if given_value is None or abs(said(kind, number, unit).value - value) > _SAME * abs(value):
        raise Refusal(
            "given-does-not-fit",
            f"{kind.label} of {value:g} was recorded as given on the paper with "
            f"{'no number' if given_value is None else f'{given_value:g}'} {unit}.",
            "Give the number and the unit of the paper, and let the value be worked out.",
        )
