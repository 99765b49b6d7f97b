"""The words a recipe line is described with: how it is used, what it is, how its weight may move.

>>> Use("dry_hop") is Use.DRY_HOP
True
"""

from __future__ import annotations

from enum import StrEnum


class MethodKind(StrEnum):
    """How the brewer makes the wort."""

    EXTRACT = "extract"
    PARTIAL_MASH = "partial_mash"
    ALL_GRAIN = "all_grain"


class Use(StrEnum):
    """When an ingredient goes in, in the order of a brew day."""

    MASH = "mash"
    STEEP = "steep"
    FIRST_WORT = "first_wort"
    BOIL = "boil"
    FLAME_OUT = "flame_out"
    WHIRLPOOL = "whirlpool"
    DRY_HOP = "dry_hop"
    FERMENTER = "fermenter"
    PRIMING = "priming"


class FermentableKind(StrEnum):
    """What gives the extract: it decides the yield and the fermentability rule.

    Flaked and torrefied cereals are grain; honey, lactose and maltodextrin are sugar.
    """

    GRAIN = "grain"
    EXTRACT = "extract"
    SUGAR = "sugar"


class HopRole(StrEnum):
    """What happens to an addition's weight when the alpha acid of the lot is not the reference.

    HOLD_WEIGHT keeps its grams (aroma, flavour, dry hop), HOLD_BITTERNESS keeps its IBU, and
    ABSORB takes what is left so that the sum stays on target.
    """

    HOLD_WEIGHT = "hold_weight"
    HOLD_BITTERNESS = "hold_bitterness"
    ABSORB = "absorb"
