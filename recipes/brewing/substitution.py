"""One line of a brew replaced by another ingredient.

A fermentable takes the place of another by weight times a ratio, and everything follows from what
it is. A hop does the same, and then the hops that hold bitterness or absorb are solved again, so
that the beer is as bitter as it was (:mod:`recipes.brewing.hop_weights`).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TypeVar

from boxwort.working import Term, Working, positive
from recipes.brewing.extract import Fermentable, points_l
from recipes.brewing.figures import Brew, Hop
from recipes.brewing.hop_weights import with_bitterness_of
from recipes.brewing.roles import HopRole

T = TypeVar("T")

_BITTERING = frozenset({HopRole.ABSORB, HopRole.HOLD_BITTERNESS})


def substituted(brew: Brew, index: int, replacement: Fermentable | Hop, ratio: float) -> Brew:
    """Return ``brew`` with one line replaced.

    Parameters
    ----------
    index: place of the line in ``brew.fermentables``, or in ``brew.hops`` for a hop.
    replacement: what stands for it. When and how long it goes in, and a hop's role, are the old
        line's; its own weight is not looked at.
    ratio: weight of the replacement for a weight of 1.

    Raises
    ------
    ValueError: no hop that moves can keep the beer as bitter as it was.
    """
    positive("ratio of a substitute", ratio)
    if isinstance(replacement, Fermentable):
        line = brew.fermentables[index]
        put = replace(replacement, kg=line.kg * ratio, use=line.use, minutes=line.minutes)
        return replace(brew, fermentables=_with(brew.fermentables, index, put))
    hop = brew.hops[index]
    pouch = replace(
        hop,
        name=replacement.name,
        grams=hop.grams * ratio,
        alpha=replacement.alpha,
        form_factor=replacement.form_factor,
    )
    return with_bitterness_of(brew, replace(brew, hops=_with(brew.hops, index, pouch)))


def suggested_ratio(
    line: Fermentable | Hop, replacement: Fermentable | Hop, mash_efficiency: float = 1.0
) -> Working:
    """Return the weight of a replacement for a weight of 1, to begin from.

    By extract for fermentables, as the line is used; by alpha acid for hops that bitter; weight
    for weight for the others, whose aroma no figure knows.

    Parameters
    ----------
    mash_efficiency: matters only where mashed grain and extract stand for one another.

    Raises
    ------
    ValueError: a hop for a fermentable, or a replacement that gives nothing.

    >>> from recipes.brewing.roles import Use
    >>> magnum, perle = (
    ...     Hop(name=name, grams=0.0, alpha=alpha, minutes=60, use=Use.BOIL, role=HopRole.ABSORB)
    ...     for name, alpha in (("Magnum", 0.12), ("Perle", 0.08))
    ... )
    >>> suggested_ratio(magnum, perle).value
    1.5
    """
    if isinstance(line, Hop) and isinstance(replacement, Hop):
        return _hop_ratio(line, replacement)
    if isinstance(line, Fermentable) and isinstance(replacement, Fermentable):
        return _by(
            "extract",
            "litre-degrees per kg",
            points_l(replace(line, kg=1.0), mash_efficiency),
            points_l(replace(replacement, kg=1.0, use=line.use), mash_efficiency),
            replacement.name,
        )
    msg = f"{replacement.name} cannot stand for {line.name}: one is a hop and the other is not"
    raise ValueError(msg)


def _with(lines: tuple[T, ...], index: int, put: T) -> tuple[T, ...]:
    return (*lines[:index], put, *lines[index + 1 :])


def _hop_ratio(line: Hop, replacement: Hop) -> Working:
    if line.role in _BITTERING:
        return _by(
            "alpha acid",
            "%",
            line.alpha * line.form_factor * 100,
            replacement.alpha * replacement.form_factor * 100,
            replacement.name,
        )
    return Working(
        name="Weight of a substitute",
        formula="weight for weight",
        terms=(),
        value=1.0,
        unit="",
        source="common practice",
        notes=("Aroma is not a figure: this is only where to begin.",),
    )


def _by(what: str, unit: str, old: float, new: float, name: str) -> Working:
    return Working(
        name="Weight of a substitute",
        formula=f"{what} of the line / {what} of the substitute",
        terms=(
            Term(name=f"{what} of the line", value=old, unit=unit),
            Term(name=f"{what} of the substitute", value=new, unit=unit),
        ),
        value=positive(f"{what} of the line", old) / positive(f"{what} of {name}", new),
        unit="",
        source="common practice",
    )
