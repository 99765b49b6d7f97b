"""What an item is to the brewer: its malt, hop or yeast specification, checked and written."""

from __future__ import annotations

from dataclasses import asdict, dataclass

from django.db import models

from boxwort.accounts.models import User
from boxwort.accounts.services import write_history
from boxwort.errors import Refusal
from inventory.models import HopSpec, Item, ItemKind, MaltSpec, YeastSpec
from inventory.models.items import FERMENTABLE_KINDS
from inventory.services.entries import check_within
from inventory.services.rows import check_row


@dataclass(frozen=True, kw_only=True)
class MaltFacts:
    """What a grain, extract or sugar gives to wort; see :class:`MaltSpec` for the units."""

    points_l_per_kg: float
    steep_points_l_per_kg: float = 0.0
    colour_lovibond: float = 0.0
    power_lintner: float = 0.0
    fermentability: float = 1.0
    must_mash: bool = False
    family: str = ""


@dataclass(frozen=True, kw_only=True)
class HopFacts:
    """A hop variety as it is bought; alpha and the loss in six months at 20 C are shares."""

    planning_alpha: float
    lost_in_six_months: float
    form: str = "pellet"
    packing: str = "barrier"


@dataclass(frozen=True, kw_only=True)
class YeastFacts:
    """A strain as it is sold; see :class:`YeastSpec` for the units."""

    form: str
    attenuation: float
    cells_per_pack: float = 0.0
    pack_grams: float = 0.0
    pitch_million: float = 0.75
    dose_g_per_hl: float = 0.0
    viability_rule: str = "linear"
    target_share: float = 1.0
    floor_share: float = 0.5
    strain_group: str = ""


Facts = MaltFacts | HopFacts | YeastFacts

Specifications = dict[type[models.Model], Facts]

_WORDS: dict[type[models.Model], str] = {MaltSpec: "malt", HopSpec: "hop", YeastSpec: "yeast"}
_LIMITS: dict[str, tuple[float, float]] = {
    "points_l_per_kg": (0, 400),
    "steep_points_l_per_kg": (0, 400),
    "colour_lovibond": (0, 1000),
    "power_lintner": (0, 400),
    "fermentability": (0, 1.5),
    "planning_alpha": (0.001, 0.349),
    "lost_in_six_months": (0, 0.99),
    "attenuation": (0.01, 1),
    "cells_per_pack": (0, 1e15),
    "pack_grams": (0, 1e6),
    "pitch_million": (0, 10),
    "dose_g_per_hl": (0, 1000),
    "target_share": (0.01, 5),
    "floor_share": (0.01, 5),
}


def specifications(
    code: str,
    kind: ItemKind,
    *,
    malt: MaltFacts | None,
    hop: HopFacts | None,
    yeast: YeastFacts | None,
) -> Specifications:
    """Return the specification to write, by its table; each kind has its own or none."""
    owed: type[models.Model] | None = None
    if kind in FERMENTABLE_KINDS:
        owed = MaltSpec
    elif kind == ItemKind.HOP:
        owed = HopSpec
    elif kind == ItemKind.YEAST:
        owed = YeastSpec
    given: dict[type[models.Model], Facts | None] = {MaltSpec: malt, HopSpec: hop, YeastSpec: yeast}
    found = {model: facts for model, facts in given.items() if facts is not None}
    if set(found) != ({owed} if owed else set()):
        needed = f"a {_WORDS[owed]} specification only" if owed else "no specification"
        raise Refusal(
            "specification-does-not-fit",
            f"Item {code} is {kind.label.lower()}, which needs {needed}.",
            "Fill in that part and leave the others empty.",
            details={"item": code},
        )
    return found


def write_specification(by: User, item: Item, model: type[models.Model], facts: Facts) -> None:
    """Write the specification of an item where it differs from the one that stands."""
    values = asdict(facts)
    for name in sorted(set(values) & set(_LIMITS)):
        check_within(values[name], _LIMITS[name], f"{name.replace('_', ' ')} of {item.code}")
    row = model._default_manager.filter(item=item).first() or model(item=item)
    before = {name: getattr(row, name) for name in values}
    adding = row._state.adding
    if not adding and before == values:
        return
    for name, value in values.items():
        setattr(row, name, value)
    check_row(row)
    row.save()
    write_history(
        by=by,
        thing=item,
        action="specified",
        before={} if adding else before,
        after=values,
    )
