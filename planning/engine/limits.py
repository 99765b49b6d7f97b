"""What is asked of an addition and may not be packed, in words."""

from __future__ import annotations

from dataclasses import dataclass

from boxwort.figures import share as percent
from boxwort.quantities import shown
from planning.engine.hop_line import HopLine

_WEAKER = (
    "Choose lots with less alpha acid for the additions that keep their weight, "
    "a blend with a weaker lot, or an approved substitute."
)
_STRONGER = (
    "Choose a lot with more alpha acid, a blend with a stronger lot, or an approved substitute."
)


@dataclass(frozen=True, kw_only=True)
class Limit:
    """A weight or a boil time that the target asks for and that may not be packed.

    ``remedy`` says in general what helps; :mod:`planning.engine.remedies` finds what would.
    """

    line: str
    lot: str
    what: str
    remedy: str


def nothing_left(line: HopLine) -> Limit:
    """Return the limit of a weight below zero."""
    return Limit(
        line=line.line,
        lot=line.lot,
        what=f"The other additions already pass the target, so nothing is left for {line.name}.",
        remedy=_WEAKER,
    )


def too_heavy(line: HopLine, wanted_mg: float, most: float) -> Limit:
    """Return the limit of a weight above the multiple of its reference."""
    return Limit(
        line=line.line,
        lot=line.lot,
        what=f"{line.name} would need {shown(round(wanted_mg), 'g')} at {percent(line.alpha)} "
        f"alpha acid, more than {most:g} times its reference of {shown(line.reference_mg, 'g')}.",
        remedy=_STRONGER,
    )


def too_short(line: HopLine) -> Limit:
    """Return the limit of a boil that would have to be longer than it may be."""
    return Limit(
        line=line.line,
        lot=line.lot,
        what=f"{line.name}: a pouch of {shown(line.reference_mg, 'g')} at {percent(line.alpha)} "
        f"alpha acid would have to boil longer than {max(line.minutes_table)} min, "
        "the most it may.",
        remedy=_STRONGER,
    )


def too_long(line: HopLine) -> Limit:
    """Return the limit of a boil that would have to be shorter than it may be."""
    return Limit(
        line=line.line,
        lot=line.lot,
        what=f"{line.name}: a pouch of {shown(line.reference_mg, 'g')} at {percent(line.alpha)} "
        f"alpha acid is too bitter even after {min(line.minutes_table)} min, "
        "the least it may boil.",
        remedy="Choose lots with less alpha acid, a blend with a weaker lot, "
        "or an approved substitute.",
    )
