"""Makers for tests of the recipe room: a small catalogue, and a pale ale in two methods."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from boxwort.accounts.models import User
from boxwort.quantities import MG_PER_G, MG_PER_KG, UL_PER_L, Measure
from inventory.models import Item, ItemKind
from inventory.services.catalogue import HopFacts, MaltFacts, YeastFacts, write_item
from recipes.brewing.roles import HopRole, MethodKind, Use
from recipes.models import Kit, Line, Method, Part, Revision, Substitute, YeastOption
from recipes.services.kits import PartFacts, offer_kit, write_kit
from recipes.services.methods import LineFacts, MethodFacts, write_method, write_yeasts
from recipes.services.offering import offer_revision
from recipes.services.recipes import start_revision, write_recipe
from recipes.services.substitutes import approve_substitute
from tests.make import person
from tests.remembering import remembered


def developer(username: str = "robin") -> User:
    return person(username, "developer")


def item(code: str, kind: ItemKind, measure: Measure = Measure.MASS, **values: Any) -> Item:
    name = values.pop("name", code.title())
    return write_item(by=developer(), code=code, name=name, kind=kind, measure=measure, **values)


def malt(
    code: str,
    kind: ItemKind = ItemKind.GRAIN,
    *,
    points: float,
    allergens: Sequence[str] = ("barley",),
    **spec: Any,
) -> Item:
    facts = MaltFacts(points_l_per_kg=points, **spec)
    return item(code, kind, allergens=allergens, malt=facts)


def hop(code: str, alpha: float = 0.08, **values: Any) -> Item:
    facts = HopFacts(planning_alpha=alpha, lost_in_six_months=0.3)
    return item(code, ItemKind.HOP, hop=facts, **values)


def liquid_yeast(code: str, **values: Any) -> Item:
    facts = YeastFacts(form="liquid", attenuation=0.76, cells_per_pack=100e9, pitch_million=0.75)
    return item(code, ItemKind.YEAST, Measure.COUNT, yeast=facts, **values)


def dry_yeast(code: str, **values: Any) -> Item:
    facts = YeastFacts(form="dry", attenuation=0.78, pack_grams=11.0, dose_g_per_hl=50.0)
    return item(code, ItemKind.YEAST, Measure.COUNT, yeast=facts, **values)


def line(what: Item, use: Use, grams: float, minutes: int = 0, **facts: Any) -> LineFacts:
    quantity = round(grams * MG_PER_G)
    return LineFacts(item=what, use=use, quantity=quantity, minutes=minutes, **facts)


def hop_line(what: Item, use: Use, grams: float, minutes: int = 0, **facts: Any) -> LineFacts:
    known = {"role": HopRole.HOLD_WEIGHT, "reference_alpha": what.hop.planning_alpha} | facts
    return line(what, use, grams, minutes, **known)


def method_facts(kind: MethodKind, **values: Any) -> MethodFacts:
    volumes = {"finished_volume": 20, "pre_boil_volume": 25, "post_boil_volume": 20}
    if kind is MethodKind.EXTRACT:
        volumes |= {"pre_boil_volume": 12, "post_boil_volume": 10}
    litres = {name: values.pop(name, litre) for name, litre in volumes.items()}
    return MethodFacts(
        kind=kind, **{name: round(litre * UL_PER_L) for name, litre in litres.items()}, **values
    )


@dataclass(frozen=True)
class Catalogue:
    """What the pale ale is made of."""

    pale_malt: Item
    crystal: Item
    flaked_oats: Item
    dry_extract: Item
    bittering: Item
    aroma: Item
    ale_yeast: Item
    dry_ale_yeast: Item
    gypsum: Item
    box: Item


@remembered
def catalogue(prefix: str = "") -> Catalogue:
    return Catalogue(
        pale_malt=malt(
            f"{prefix}PALE", points=300.0, colour_lovibond=2.5, power_lintner=85.0, must_mash=True
        ),
        crystal=malt(
            f"{prefix}CRYSTAL",
            points=284.0,
            steep_points_l_per_kg=150.0,
            colour_lovibond=60.0,
            fermentability=0.6,
        ),
        flaked_oats=malt(f"{prefix}OATS", points=270.0, must_mash=True, allergens=["oats"]),
        dry_extract=malt(f"{prefix}EXTRACT", ItemKind.EXTRACT, points=366.0, colour_lovibond=4.0),
        bittering=hop(f"{prefix}BITTER", 0.08, overage=0.02),
        aroma=hop(f"{prefix}AROMA", 0.06),
        ale_yeast=liquid_yeast(f"{prefix}ALE"),
        dry_ale_yeast=dry_yeast(f"{prefix}DRY-ALE"),
        gypsum=item(f"{prefix}GYPSUM", ItemKind.MINERAL),
        box=item(f"{prefix}BOX", ItemKind.PACKAGING, Measure.COUNT),
    )


def draft(code: str = "PALE-ALE", name: str = "Ridge Pale") -> Revision:
    recipe = write_recipe(by=developer(), code=code, name=name, style="Pale ale")
    return start_revision(by=developer(), recipe=recipe)


def pale_hops(goods: Catalogue, bittering_grams: float) -> list[LineFacts]:
    return [
        hop_line(goods.bittering, Use.BOIL, bittering_grams, 60, role=HopRole.ABSORB),
        hop_line(goods.aroma, Use.BOIL, 20.2, 15),
        hop_line(goods.aroma, Use.DRY_HOP, 30),
    ]


def write_extract(revision: Revision, goods: Catalogue, *extra: LineFacts, **facts: Any) -> Method:
    return write_method(
        by=developer(),
        revision=revision,
        facts=method_facts(MethodKind.EXTRACT, **facts),
        lines=[
            line(goods.dry_extract, Use.BOIL, 2700, 60),
            line(goods.crystal, Use.STEEP, 300, 20),
            *pale_hops(goods, 36.3),
            line(goods.gypsum, Use.BOIL, 4.26, 60),
            *extra,
        ],
    )


def write_method_of(revision: Revision, *lines: LineFacts, **facts: Any) -> Method:
    """Write an extract method of these lines alone."""
    known = method_facts(MethodKind.EXTRACT, **facts)
    return write_method(by=developer(), revision=revision, facts=known, lines=lines)


def write_all_grain(revision: Revision, goods: Catalogue, *extra: LineFacts) -> Method:
    return write_method(
        by=developer(),
        revision=revision,
        facts=method_facts(MethodKind.ALL_GRAIN),
        lines=[
            line(goods.pale_malt, Use.MASH, 4400),
            line(goods.crystal, Use.MASH, 210),
            *pale_hops(goods, 20.9),
            *extra,
        ],
    )


def pale_ale(goods: Catalogue, code: str = "PALE-ALE") -> Revision:
    """Return a draft of a pale ale as extract and all-grain, with two yeasts."""
    revision = draft(code)
    write_yeasts(by=developer(), revision=revision, items=[goods.ale_yeast, goods.dry_ale_yeast])
    write_extract(revision, goods)
    write_all_grain(revision, goods)
    return revision


def approved(stands_for: Line | YeastOption, item: Item, **facts: Any) -> Substitute:
    return approve_substitute(by=developer(), stands_for=stands_for, item=item, **facts)


def offered(revision: Revision) -> Revision:
    return offer_revision(by=developer(), revision=revision, expected=revision.version)


def kit(revision: Revision, code: str, goods: Catalogue, **values: Any) -> Kit:
    kind = values.pop("kind", MethodKind.EXTRACT)
    facts: dict[str, Any] = {
        "volume": 20 * UL_PER_L,
        "shelf_days": 90,
        "yeast_part": Part.DISPATCH,
        "price": 450_000,
        "parts": [PartFacts(item=goods.box, quantity=1)],
    }
    sold = Item.objects.filter(code=code).first() or item(code, ItemKind.KIT, Measure.COUNT)
    method = revision.methods.get(kind=kind)
    return write_kit(by=developer(), item=sold, method=method, **(facts | values))


def offered_kit(revision: Revision, code: str, goods: Catalogue, **values: Any) -> Kit:
    made = kit(revision, code, goods, **values)
    return offer_kit(by=developer(), kit=made, expected=made.version)


def kg(amount: float) -> int:
    return round(amount * MG_PER_KG)
