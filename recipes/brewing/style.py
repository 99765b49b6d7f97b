"""How far a beer lies from the ranges of a style.

A style is advice, so a figure outside it is a warning with the distance and never a refusal. The
figures are compared unrounded with the published decimals, as twins are: 1.0449 is 0.0001 below a
style that begins at 1.045, although both read 1.045 when rounded. The limits themselves are inside.

>>> pale = StyleRanges(
...     og_min=1.045, og_max=1.060, fg_min=1.010, fg_max=1.015, abv_min=4.5, abv_max=6.2,
...     ibu_min=30, ibu_max=50, srm_min=5, srm_max=10,
... )
>>> distance(1.0449, pale.og_min, pale.og_max)
-0.0001
>>> distance(1.045, pale.og_min, pale.og_max)
0.0
"""

from __future__ import annotations

from dataclasses import dataclass, fields

from boxwort.working import not_negative
from recipes.brewing.figures import Figures

FIGURES = ("og", "fg", "abv", "ibu", "srm")
_NOISE = 1e-9  # what adding up in another order may change; no published range is as fine


@dataclass(frozen=True, kw_only=True)
class StyleRanges:
    """The least and the most of each figure: gravities in SG, alcohol in % by volume, IBU, SRM."""

    og_min: float
    og_max: float
    fg_min: float
    fg_max: float
    abv_min: float
    abv_max: float
    ibu_min: float
    ibu_max: float
    srm_min: float
    srm_max: float

    def __post_init__(self) -> None:
        for field in fields(self):
            not_negative(field.name.replace("_", " "), getattr(self, field.name))
        for figure in FIGURES:
            low, high = self.of(figure)
            if low > high:
                msg = f"{figure.upper()} from {low:g} to {high:g} is the wrong way round"
                raise ValueError(msg)

    def of(self, figure: str) -> tuple[float, float]:
        """Return the least and the most of one figure ("og", "fg", "abv", "ibu" or "srm")."""
        return getattr(self, f"{figure}_min"), getattr(self, f"{figure}_max")


@dataclass(frozen=True, kw_only=True)
class StyleRow:
    """One figure of a beer beside its style.

    Attributes
    ----------
    figure: "og", "fg", "abv", "ibu" or "srm".
    value: of the beer, unrounded.
    low, high: the style's limits.
    unit: of the value, the limits and the distance.
    distance: 0 inside, negative by how much it is below, positive by how much above.
    """

    figure: str
    value: float
    low: float
    high: float
    unit: str
    distance: float

    @property
    def within(self) -> bool:
        """Whether the style allows it."""
        return self.distance == 0


def distance(value: float, low: float, high: float) -> float:
    """Return how far a value is outside: negative below, positive above, 0 inside."""
    if value < low - _NOISE:
        return value - low
    return value - high if value > high + _NOISE else 0.0


def style_check(figures: Figures, ranges: StyleRanges) -> tuple[StyleRow, ...]:
    """Return OG, FG, ABV, IBU and SRM, each beside the limits of the style."""
    rows = []
    for figure in FIGURES:
        working = getattr(figures, figure)
        low, high = ranges.of(figure)
        rows.append(
            StyleRow(
                figure=figure,
                value=working.value,
                low=low,
                high=high,
                unit=working.unit,
                distance=distance(working.value, low, high),
            )
        )
    return tuple(rows)
