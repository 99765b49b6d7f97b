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
    ABSORB takes what is left so that the sum stays on target. MOVE_TIME is for pouches sold at a
    fixed weight: its grams stay and its boil minutes move, within limits.
    """

    HOLD_WEIGHT = "hold_weight"
    HOLD_BITTERNESS = "hold_bitterness"
    ABSORB = "absorb"
    MOVE_TIME = "move_time"


class Family(StrEnum):
    """What a fermentable is to a brewer: it decides what may stand for it in another method.

    FLAKED_CORN is corn or rice, FLAKED_OATS oats, barley or unmalted wheat, HIGH_KILNED Munich and
    Vienna malt, DEXTRIN lactose and maltodextrin.
    """

    BASE_MALT = "base_malt"
    HIGH_KILNED = "high_kilned"
    WHEAT_MALT = "wheat_malt"
    RYE_MALT = "rye_malt"
    CRYSTAL = "crystal"
    ROASTED = "roasted"
    FLAKED_CORN = "flaked_corn"
    FLAKED_OATS = "flaked_oats"
    PALE_EXTRACT = "pale_extract"
    MUNICH_EXTRACT = "munich_extract"
    WHEAT_EXTRACT = "wheat_extract"
    RYE_EXTRACT = "rye_extract"
    SYRUP = "syrup"
    SUCROSE = "sucrose"
    GLUCOSE = "glucose"
    GLUCOSE_MONOHYDRATE = "glucose_monohydrate"
    DEXTRIN = "dextrin"
