"""Final gravity from the fermentability of each ingredient and the strain's attenuation.

The convention, which is ours. A strain's attenuation is its *apparent* attenuation of a wort of
mashed malt. Each ingredient i then attenuates by a_i, and

    final points = sum of points_i * (1 - a_i)

* grain and extract: a_i = strain's attenuation * fermentability, where fermentability is relative
  to the wort of mashed malt (1.0; less for crystal malt, and by product for extract), and a_i
  never above 1;
* sugar: a_i = fermentability itself, whatever the strain: 1.0 for corn, cane and candi sugar, 0
  for lactose, low for maltodextrin. A sugar with 1.0 leaves no points.

>>> apparent_attenuation(FermentableKind.EXTRACT, fermentability=0.95, strain_attenuation=0.76)
0.722
>>> apparent_attenuation(FermentableKind.SUGAR, fermentability=0.0, strain_attenuation=0.76)
0.0

Alcohol is lighter than water, so a wort with much sugar really ends a little lower than this.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from boxwort.working import Term, Working, not_negative, positive, share
from recipes.brewing.extract import Fermentable, points_l, wort_fermentables
from recipes.brewing.gravity import sg_from_points
from recipes.brewing.roles import FermentableKind

SOURCE = "convention of this program, in recipes/brewing/attenuation.py"


def apparent_attenuation(
    kind: FermentableKind, *, fermentability: float, strain_attenuation: float
) -> float:
    """Return the share, 0-1, of an ingredient's points that fermentation takes away."""
    share("attenuation of the yeast", strain_attenuation)
    if kind is FermentableKind.SUGAR:
        return share("fermentability of sugar", fermentability)
    return min(1.0, strain_attenuation * not_negative("fermentability", fermentability))


def final_gravity(
    fermentables: Sequence[Fermentable],
    *,
    wort_volume_l: float,
    mash_efficiency: float,
    strain_attenuation: float,
) -> Working:
    """Return the final gravity, with the points each fermentable leaves as its parts."""
    positive("wort volume", wort_volume_l)
    parts = tuple(
        _left_working(line, points_l(line, mash_efficiency), strain_attenuation)
        for line in wort_fermentables(fermentables)
    )
    left = math.fsum(part.value for part in parts)
    return Working(
        name="Final gravity",
        formula="1 + sum of parts / wort volume / 1000",
        terms=(
            Term(name="sum of parts", value=left, unit="litre-degrees"),
            Term(name="wort volume", value=wort_volume_l, unit="L"),
            Term(name="attenuation of the yeast", value=strain_attenuation * 100, unit="%"),
        ),
        value=sg_from_points(left / wort_volume_l),
        unit="SG",
        source=SOURCE,
        notes=(
            "Grain and extract attenuate by the yeast's attenuation times their fermentability "
            "relative to all-malt wort; sugar by its own fermentability, whatever the yeast.",
        ),
        parts=parts,
    )


def _left_working(line: Fermentable, given_l: float, strain_attenuation: float) -> Working:
    attenuated = apparent_attenuation(
        line.kind, fermentability=line.fermentability, strain_attenuation=strain_attenuation
    )
    return Working(
        name=line.name,
        formula="extract * (1 - apparent attenuation)",
        terms=(
            Term(name="extract", value=given_l, unit="litre-degrees"),
            Term(name="fermentability", value=line.fermentability, unit=""),
            Term(name="apparent attenuation", value=attenuated, unit=""),
        ),
        value=given_l * (1 - attenuated),
        unit="litre-degrees",
        source=SOURCE,
    )
