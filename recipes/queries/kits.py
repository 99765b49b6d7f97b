"""Kits for reading: the list, and one kit with its figures, bill and allergens."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet

from boxwort.errors import Refusal
from inventory.models import Item
from inventory.models.items import ALLERGENS
from recipes.brewing.figures import Figures
from recipes.models import Kit, KitBillLine
from recipes.queries.bills import BillRow, SubstituteRow, bill_of, bill_substitutes
from recipes.queries.figures import kept_figures
from recipes.queries.kit_designs import KitDesign, kit_design
from recipes.queries.sub_kits import (
    SubKitRow,
    goods_within,
    hop_pack_among,
    sub_kit_problems,
    sub_kits_of,
)


@dataclass(frozen=True, kw_only=True)
class KitRow:
    """One kit of the list: volume in microlitres, price in ten-thousandths of the currency.

    ``og`` to ``srm`` are None until the kit is offered.
    """

    id: int
    version: int
    code: str
    name: str
    recipe_code: str
    recipe_name: str
    style: str
    revision_number: int
    revision_state: str
    method_id: int
    method_kind: str
    method_label: str
    volume: int
    shelf_days: int
    contents: str
    price: int
    offered: bool
    target_ibu: float | None
    og: float | None
    fg: float | None
    abv: float | None
    ibu: float | None
    srm: float | None


@dataclass(frozen=True, kw_only=True)
class KitDetail:
    """One kit in full. Boil volumes are the kit's, in microlitres.

    ``figures``, ``bill`` and ``substitutes`` (by key of the bill) are frozen once it is offered,
    and the design as it would be until then; when there is no design, or it cannot be offered with
    the kits it holds (``sub_kits``), ``problem`` says why. The days and the kits of a run are as
    of :class:`recipes.services.pack_rules.PackRules`.
    """

    row: KitRow
    yeast_part: str
    grain_part: str
    first_pack_on: date | None
    last_pack_on: date | None
    last_sale_on: date | None
    minimum_kits: int
    multiple_kits: int
    sub_kits: tuple[SubKitRow, ...]
    boil_minutes: int
    pre_boil_volume: int
    post_boil_volume: int
    mash_temperature_c: float | None
    ferment_temperature_c: float
    steps: str
    figures: Figures | None
    bill: tuple[BillRow, ...]
    substitutes: Mapping[str, tuple[SubstituteRow, ...]]
    allergens: tuple[str, ...]
    problem: str

    @property
    def hop_pack(self) -> SubKitRow | None:
        """The hop pack that its hops come in; None where it holds them itself."""
        return hop_pack_among(self.sub_kits)


def kit_rows(*, recipe_code: str = "") -> list[KitRow]:
    """Return every kit, or every kit of one recipe, by code; one statement."""
    kits = _kits()
    if recipe_code:
        kits = kits.filter(method__revision__recipe__code=recipe_code)
    return [_row(kit) for kit in kits.order_by("item__code")]


def kit_detail(code: str) -> KitDetail:
    """Return one kit in full.

    Raises
    ------
    Kit.DoesNotExist: there is no kit with this code.
    """
    kit = _kits().get(item__code=code)
    sub_kits = sub_kits_of(kit.pk)
    design, problem = _design(kit, sub_kits)
    bill = design.rows if design else ()
    method = kit.method
    by_volume = kit.volume / method.finished_volume
    return KitDetail(
        row=_row(kit),
        yeast_part=kit.yeast_part,
        grain_part=kit.grain_part,
        first_pack_on=kit.first_pack_on,
        last_pack_on=kit.last_pack_on,
        last_sale_on=kit.last_sale_on,
        minimum_kits=kit.minimum_kits,
        multiple_kits=kit.multiple_kits,
        sub_kits=sub_kits,
        boil_minutes=method.boil_minutes,
        pre_boil_volume=round(method.pre_boil_volume * by_volume),
        post_boil_volume=round(method.post_boil_volume * by_volume),
        mash_temperature_c=method.mash_temperature_c,
        ferment_temperature_c=method.ferment_temperature_c,
        steps=method.steps,
        figures=design.figures if design else None,
        bill=bill,
        substitutes=design.substitutes if design else {},
        allergens=allergens_of([row.item_id for row in bill]),
        problem=problem,
    )


def kit_allergens(kit_id: int) -> tuple[str, ...]:
    """Return the allergens of everything on a kit's frozen bill, every yeast option included."""
    return allergens_of(list(KitBillLine.objects.filter(kit=kit_id).values_list("item", flat=True)))


def _kits() -> QuerySet[Kit]:
    return Kit.objects.select_related("item", "method__revision__recipe")


def _design(kit: Kit, sub_kits: tuple[SubKitRow, ...]) -> tuple[KitDesign | None, str]:
    if kit.offered:
        kept = KitDesign(
            figures=kept_figures(kit.figures),
            rows=tuple(bill_of(kit.pk)),
            substitutes=bill_substitutes([kit.pk])[kit.pk],
        )
        return kept, ""
    try:
        design = kit_design(kit.pk)
    except Refusal as refusal:
        return None, str(refusal)
    problems = [f"{found.what} {found.remedy}" for found in sub_kit_problems(kit, sub_kits)]
    return design, " ".join(problems)


def allergens_of(item_ids: Iterable[int]) -> tuple[str, ...]:
    """Return the allergens of these items, and of all that kits among them hold, as the law orders.

    It takes two statements, and one more for each level of kits within kits.
    """
    named = Item.objects.filter(pk__in=goods_within(item_ids)).values_list("allergens", flat=True)
    found = {allergen for allergens in named for allergen in allergens}
    return tuple(allergen for allergen in ALLERGENS if allergen in found)


def _row(kit: Kit) -> KitRow:
    revision = kit.method.revision

    def kept(name: str) -> float | None:
        return kit.figures[name]["value"] if kit.offered else None

    return KitRow(
        id=kit.pk,
        version=kit.version,
        code=kit.item.code,
        name=kit.item.name,
        recipe_code=revision.recipe.code,
        recipe_name=revision.recipe.name,
        style=revision.recipe.style,
        revision_number=revision.number,
        revision_state=revision.state,
        method_id=kit.method_id,
        method_kind=kit.method.kind,
        method_label=kit.method.get_kind_display(),
        volume=kit.volume,
        shelf_days=kit.shelf_days,
        contents=kit.contents,
        price=kit.price,
        offered=kit.offered,
        target_ibu=kit.target_ibu,
        og=kept("og"),
        fg=kept("fg"),
        abv=kept("abv"),
        ibu=kept("ibu"),
        srm=kept("srm"),
    )
