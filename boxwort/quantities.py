"""Exact quantities: whole milligrams, microlitres and pieces, and the units people type.

Stock is an ``int`` of the smallest unit of its measure, so that sums are exact everywhere. The
conversion factors are the exact international ones; a typed amount is rounded once, half up,
to the nearest whole unit of stock, and what is shown again equals what was typed.

>>> stocked(Decimal("1.5"), "oz")
42524
>>> shown(42524, "oz", decimals=2)
'1.50 oz'
>>> shown(stocked(Decimal("20"), "L"), "L", decimals=1)
'20.0 L'

Sources: the international avoirdupois pound of 453.59237 g (1959 agreement) and the US gallon
of 231 cubic inches (3.785411784 L), both exact; NIST Handbook 44, appendix C.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum


class Measure(StrEnum):
    """What is counted: mass in milligrams, volume in microlitres, pieces one by one."""

    MASS = "mass"
    VOLUME = "volume"
    COUNT = "count"


@dataclass(frozen=True, kw_only=True)
class Unit:
    """A unit people type: its symbol, measure, and size in whole units of stock (exact)."""

    symbol: str
    measure: Measure
    size: Decimal
    decimals: int


UNITS: dict[str, Unit] = {
    unit.symbol: unit
    for unit in (
        Unit(symbol="mg", measure=Measure.MASS, size=Decimal(1), decimals=0),
        Unit(symbol="g", measure=Measure.MASS, size=Decimal(1000), decimals=1),
        Unit(symbol="kg", measure=Measure.MASS, size=Decimal(1_000_000), decimals=3),
        Unit(symbol="oz", measure=Measure.MASS, size=Decimal("28349.523125"), decimals=2),
        Unit(symbol="lb", measure=Measure.MASS, size=Decimal("453592.37"), decimals=3),
        Unit(symbol="mL", measure=Measure.VOLUME, size=Decimal(1000), decimals=1),
        Unit(symbol="L", measure=Measure.VOLUME, size=Decimal(1_000_000), decimals=2),
        Unit(symbol="US gal", measure=Measure.VOLUME, size=Decimal("3785411.784"), decimals=2),
        Unit(symbol="each", measure=Measure.COUNT, size=Decimal(1), decimals=0),
    )
}

MG_PER_G = 1000
MG_PER_KG = 1_000_000
UL_PER_L = 1_000_000


def unit_named(symbol: str) -> Unit:
    """Return the unit with this symbol, whatever its capitals or spaces.

    Raises
    ------
    ValueError: the symbol is not one that the trade's amounts are written in.
    """
    wanted = "".join(symbol.split()).casefold()
    for unit in UNITS.values():
        if "".join(unit.symbol.split()).casefold() == wanted:
            return unit
    known = ", ".join(UNITS)
    msg = f"{symbol!r} is not a unit; use one of {known}"
    raise ValueError(msg)


def stocked(amount: Decimal, symbol: str) -> int:
    """Return ``amount`` of a unit as whole units of stock, rounded half up once."""
    size = unit_named(symbol).size
    return int((amount * size).quantize(Decimal(1), rounding=ROUND_HALF_UP))


def amount_in(quantity: int, symbol: str) -> Decimal:
    """Return a stock quantity in a unit, unrounded to 28 digits."""
    return Decimal(quantity) / unit_named(symbol).size


def shown(quantity: int, symbol: str, *, decimals: int | None = None) -> str:
    """Return a stock quantity with its unit, rounded half up for reading."""
    unit = unit_named(symbol)
    places = unit.decimals if decimals is None else decimals
    step = Decimal(1).scaleb(-places)
    amount = amount_in(quantity, symbol).quantize(step, rounding=ROUND_HALF_UP)
    return f"{amount:,} {unit.symbol}"


def natural_unit(quantity: int, measure: Measure, system: str) -> str:
    """Return the unit a person would read this quantity in ("metric" or "us")."""
    if measure is Measure.COUNT:
        return "each"
    size = abs(quantity)
    if measure is Measure.MASS:
        if system == "us":
            return "lb" if size >= stocked(Decimal(1), "lb") else "oz"
        return "kg" if size >= MG_PER_KG else "g"
    if system == "us":
        return "US gal" if size >= stocked(Decimal("0.25"), "US gal") else "mL"
    return "L" if size >= UL_PER_L else "mL"


def read_naturally(quantity: int, measure: Measure, system: str = "metric") -> str:
    """Return a quantity as a person of that unit system reads it, with its unit.

    >>> read_naturally(1_250_000, Measure.MASS)
    '1.250 kg'
    >>> read_naturally(28_350, Measure.MASS, "us")
    '1.00 oz'
    >>> read_naturally(12, Measure.COUNT)
    '12 each'
    """
    return shown(quantity, natural_unit(quantity, measure, system))
