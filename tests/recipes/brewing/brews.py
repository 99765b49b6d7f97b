"""Ingredients and brews that the tests of the arithmetic start from."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from recipes.brewing.extract import Fermentable
from recipes.brewing.figures import Brew, Hop
from recipes.brewing.roles import Family, FermentableKind, HopRole, MethodKind, Use

BASE_MALT = Fermentable(
    name="Pale malt",
    kind=FermentableKind.GRAIN,
    kg=4.5,
    use=Use.MASH,
    points_l_per_kg=300.0,
    colour_lovibond=2.0,
    power_lintner=140.0,
    must_mash=True,
)
CRYSTAL = Fermentable(
    name="Crystal malt",
    kind=FermentableKind.GRAIN,
    kg=0.3,
    use=Use.STEEP,
    points_l_per_kg=284.0,
    steep_points_l_per_kg=150.0,
    colour_lovibond=60.0,
    fermentability=0.6,
)
DRY_EXTRACT = Fermentable(
    name="Dry pale extract",
    kind=FermentableKind.EXTRACT,
    kg=2.7,
    use=Use.BOIL,
    points_l_per_kg=366.0,
    colour_lovibond=4.0,
    fermentability=0.97,
)
CORN_SUGAR = Fermentable(
    name="Corn sugar",
    kind=FermentableKind.SUGAR,
    kg=0.5,
    use=Use.FLAME_OUT,
    points_l_per_kg=384.0,
)
BITTERING = Hop(
    name="Bittering", grams=40.0, alpha=0.08, minutes=60, use=Use.BOIL, role=HopRole.ABSORB
)
FLAVOUR = Hop(
    name="Flavour", grams=20.0, alpha=0.06, minutes=15, use=Use.BOIL, role=HopRole.HOLD_BITTERNESS
)
LATE = Hop(name="Late", grams=15.0, alpha=0.06, minutes=5, use=Use.BOIL)
DRY_HOP = Hop(name="Dry hop", grams=30.0, alpha=0.06, minutes=0, use=Use.DRY_HOP)

ALL_GRAIN = Brew(
    kind=MethodKind.ALL_GRAIN,
    finished_volume_l=20.0,
    pre_boil_volume_l=24.0,
    post_boil_volume_l=20.0,
    mash_efficiency=0.75,
    attenuation=0.76,
    fermentables=(BASE_MALT,),
    hops=(BITTERING, FLAVOUR, LATE, DRY_HOP),
)
EXTRACT = Brew(
    kind=MethodKind.EXTRACT,
    finished_volume_l=20.0,
    pre_boil_volume_l=12.0,
    post_boil_volume_l=10.0,
    mash_efficiency=0.75,
    attenuation=0.76,
    fermentables=(DRY_EXTRACT, CRYSTAL),
    hops=(BITTERING, FLAVOUR, LATE, DRY_HOP),
)


def but(line: Fermentable, **changes: Any) -> Fermentable:
    """Return a grist line with some of it changed."""
    return replace(line, **changes)


PALE_MALT = replace(BASE_MALT, name="Pale ale malt", power_lintner=85.0, family=Family.BASE_MALT)
PALE_EXTRACT = replace(DRY_EXTRACT, family=Family.PALE_EXTRACT)
FLAKED_OATS = Fermentable(
    name="Flaked oats",
    kind=FermentableKind.GRAIN,
    kg=0.5,
    use=Use.MASH,
    points_l_per_kg=270.0,
    colour_lovibond=1.5,
    fermentability=0.85,
    must_mash=True,
    family=Family.FLAKED_OATS,
)
FLAKED_CORN = replace(
    FLAKED_OATS,
    name="Flaked corn",
    points_l_per_kg=320.0,
    fermentability=1.0,
    family=Family.FLAKED_CORN,
)
MASHED_CRYSTAL = replace(CRYSTAL, use=Use.MASH, family=Family.CRYSTAL)
