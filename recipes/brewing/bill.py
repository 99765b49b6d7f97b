"""Bill of materials of a kit, and of n kits: exact amounts, packed amounts, and why they differ.

What goes in one kit is rounded once, to the nearest step of the scale, half up, and never to
nothing; n kits take n times the packed amount; overage for spills and losses comes on top, rounded
up to a whole step. Amounts are in whole units of stock (mg, microlitre or pieces).

>>> hops = BillLine(
...     key="line-4", code="HOP-CAS", measure=Measure.MASS, quantity=14_370.0, resolution=500,
...     overage=0.01, part="hops", scale="the pouch scale",
... )
>>> (row,) = bill((hops,), kits=24)
>>> row.packed_per_kit, row.overage, row.total
(14500, 3500, 351500)
>>> row.reason
'14.37 g packed as 14.5 g: the pouch scale goes in steps of 0.5 g; 3.5 g more for losses of 1 %'
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from boxwort.quantities import Measure, natural_unit, shown
from boxwort.working import not_negative, positive, share

_FINEST_DECIMALS = {"mg": 0, "g": 3, "kg": 6, "mL": 3, "L": 6, "each": 0}
_ROUNDING_NOISE = 1e-9


@dataclass(frozen=True, kw_only=True)
class BillLine:
    """What one kit should hold of one item.

    Attributes
    ----------
    key: the caller's name for the line, handed back.
    code: the item.
    measure: mass, volume or count.
    quantity: exact amount for one kit, in units of stock, not yet whole.
    resolution: the step it can be packed in, whole units of stock (1 for pieces).
    overage: share, 0-1, lost in packing on average.
    part: the part of the kit it goes into.
    scale: what sets the step, as the packer calls it.
    """

    key: str
    code: str
    measure: Measure
    quantity: float
    resolution: int
    overage: float
    part: str
    scale: str = "the scale"


@dataclass(frozen=True, kw_only=True)
class BillRow:
    """A line of the bill for ``kits`` kits; ``total`` is ``packed_per_kit * kits + overage``."""

    line: BillLine
    kits: int
    packed_per_kit: int
    overage: int
    total: int
    reason: str


def bill(lines: Sequence[BillLine], *, kits: int) -> tuple[BillRow, ...]:
    """Return the bill of materials for a whole number of kits, in the order of ``lines``."""
    not_negative("number of kits", kits)
    return tuple(_row(line, kits) for line in lines)


def packed_amount(quantity: float, resolution: int) -> int:
    """Return ``quantity`` on the steps of the scale: nearest, half up, one step if not nothing.

    >>> packed_amount(14_250.0, 500), packed_amount(100.0, 500), packed_amount(0.0, 500)
    (14500, 500, 0)
    """
    not_negative("amount for one kit", quantity)
    positive("step of the scale", resolution)
    if quantity == 0:
        return 0
    steps = math.floor(quantity / resolution + 0.5 + _ROUNDING_NOISE)
    return max(1, steps) * resolution


def overage_amount(packed: int, overage: float, resolution: int) -> int:
    """Return what is added for losses: a share of what is packed, rounded up to a step."""
    steps = packed * share("overage", overage) / positive("step of the scale", resolution)
    return math.ceil(steps - _ROUNDING_NOISE) * resolution


def _row(line: BillLine, kits: int) -> BillRow:
    packed = packed_amount(line.quantity, line.resolution)
    overage = overage_amount(packed * kits, line.overage, line.resolution)
    return BillRow(
        line=line,
        kits=kits,
        packed_per_kit=packed,
        overage=overage,
        total=packed * kits + overage,
        reason="; ".join(filter(None, (_rounding(line, packed), _losses(line, overage)))),
    )


def _rounding(line: BillLine, packed: int) -> str:
    if packed == line.quantity:
        return ""
    if line.measure is Measure.COUNT:
        return f"{line.quantity:.2f} packed as {packed}: only whole pieces go in a box"
    exact = _read(round(line.quantity), line.measure)
    step = _read(line.resolution, line.measure)
    read = _read(packed, line.measure)
    if exact == read:
        return ""
    return f"{exact} packed as {read}: {line.scale} goes in steps of {step}"


def _losses(line: BillLine, overage: int) -> str:
    if overage == 0:
        return ""
    return f"{_read(overage, line.measure)} more for losses of {line.overage * 100:g} %"


def _read(quantity: int, measure: Measure) -> str:
    """Return a quantity to its last milligram or microlitre, without idle zeros."""
    unit = natural_unit(quantity, measure, "metric")
    amount, symbol = shown(quantity, unit, decimals=_FINEST_DECIMALS[unit]).split(" ", 1)
    if "." in amount:
        amount = amount.rstrip("0").rstrip(".")
    return amount if measure is Measure.COUNT else f"{amount} {symbol}"
