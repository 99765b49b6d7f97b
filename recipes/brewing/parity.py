"""Whether two methods of one recipe make the same beer.

Twins are compared figure by figure, unrounded, and a difference that is just the limit passes. The
beer is the same when every figure is within its limit and both come with the same yeasts.

>>> PARITY_LIMITS["srm"].allowed(30.0, 33.0)  # the larger of 2 and a tenth of the darker
3.3
>>> PARITY_LIMITS["og"].met_by(1.050, 1.052), PARITY_LIMITS["og"].met_by(1.050, 1.0521)
(True, False)

The limits are this program's own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from boxwort.figures import share as percent
from boxwort.working import Term, Working
from recipes.brewing.figures import Figures

SOURCE = "limits of this program, in recipes/brewing/parity.py"
_FLOAT_NOISE = 1e-9  # 1.052 - 1.050 is a little more than 0.002 in binary


@dataclass(frozen=True, kw_only=True)
class ParityLimit:
    """How far a figure of two twins may be apart: ``absolute``, or a share of the larger."""

    absolute: float
    relative: float = 0.0

    def allowed(self, one: float, other: float) -> float:
        """Return the most that these two may differ by."""
        return max(self.absolute, self.relative * max(one, other))

    def met_by(self, one: float, other: float) -> bool:
        """Return whether these two are close enough; just at the limit is."""
        return abs(one - other) <= self.allowed(one, other) + _FLOAT_NOISE


PARITY_LIMITS: Mapping[str, ParityLimit] = MappingProxyType(
    {
        "og": ParityLimit(absolute=0.002),
        "fg": ParityLimit(absolute=0.002),
        "ibu": ParityLimit(absolute=2.0),
        "srm": ParityLimit(absolute=2.0, relative=0.1),
        "abv": ParityLimit(absolute=0.3),
    }
)
"""By the name of the figure in :class:`recipes.brewing.figures.Figures`."""


@dataclass(frozen=True, kw_only=True)
class ParityRow:
    """One figure of both twins.

    Attributes
    ----------
    figure, name: as :class:`Figures` calls it ("og"), and as people do ("Original gravity").
    one, other, difference, limit: in ``unit``; the difference has no sign.
    within: the difference is at most the limit.
    """

    figure: str
    name: str
    one: float
    other: float
    difference: float
    limit: float
    unit: str
    within: bool

    def working(self) -> Working:
        """Return the difference with its working."""
        limit = PARITY_LIMITS[self.figure]
        share = f" or {percent(limit.relative, 0)} of the larger" if limit.relative else ""
        verdict = "Within the limit." if self.within else "Apart by more than the limit."
        return Working(
            name=f"{self.name}, difference",
            formula="|one - other|",
            terms=(
                Term(name="one", value=self.one, unit=self.unit),
                Term(name="other", value=self.other, unit=self.unit),
                Term(name="limit", value=self.limit, unit=self.unit),
            ),
            value=self.difference,
            unit=self.unit,
            source=SOURCE,
            notes=(f"The limit is {limit.absolute:g}{share}.", verdict),
        )


@dataclass(frozen=True, kw_only=True)
class Parity:
    """Two methods side by side."""

    rows: tuple[ParityRow, ...]
    same_yeasts: bool

    @property
    def holds(self) -> bool:
        """Whether both make the same beer."""
        return self.same_yeasts and all(row.within for row in self.rows)

    def row(self, figure: str) -> ParityRow:
        """Return the row of one figure."""
        return next(row for row in self.rows if row.figure == figure)


def parity(one: Figures, other: Figures, *, same_yeasts: bool) -> Parity:
    """Return the two methods compared, in the order of :data:`PARITY_LIMITS`.

    Parameters
    ----------
    same_yeasts: both methods are offered with the same yeasts.
    """
    return Parity(
        rows=tuple(
            _row(figure, getattr(one, figure), getattr(other, figure)) for figure in PARITY_LIMITS
        ),
        same_yeasts=same_yeasts,
    )


def _row(figure: str, one: Working, other: Working) -> ParityRow:
    limit = PARITY_LIMITS[figure]
    return ParityRow(
        figure=figure,
        name=one.name,
        one=one.value,
        other=other.value,
        difference=abs(one.value - other.value),
        limit=limit.allowed(one.value, other.value),
        unit=one.unit,
        within=limit.met_by(one.value, other.value),
    )
