"""The kits of a plan and their frozen bills, read in as few rows as it needs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from django.db.models import F, Q

from planning.engine.plan_input import PlanItem, PlanKit
from recipes.models import Kit, KitBillLine, KitBillSubstitute, RevisionState


@dataclass(frozen=True, kw_only=True)
class Pitch:
    """What a make asks of a yeast: packs on the bill, fresh packs asked for, floor, shelf days."""

    item: int
    packs: int
    asked: float
    floor: float
    shelf_days: int


@dataclass(frozen=True, kw_only=True)
class KnownItems:
    """The items of the plan, and what bills need to know of the hops and yeasts among them."""

    items: tuple[PlanItem, ...]
    place: Mapping[int, int]
    hop_rates: Mapping[int, float]
    yeast_floors: Mapping[int, float]


class BillRow(NamedTuple):
    """A row of a kit's bill, light: a plan reads thousands."""

    kit_id: int
    key: str
    item_id: int
    packed: int
    exact: float
    overage: float
    part: str
    role: str
    reference_alpha: float | None
    is_yeast_option: bool


class Substitute(NamedTuple):
    """A row that may be used in the place of another, and the item that the other is of."""

    row: BillRow
    stands_for: int


@dataclass(frozen=True, kw_only=True)
class KitRows:
    """Kits in their places, and the rows of their frozen bills, those of a kit together.

    ``substitutes`` are the frozen ones by id.
    """

    kits: tuple[PlanKit, ...]
    place: Mapping[int, int]
    floors: Mapping[int, float | None]
    rows: Sequence[BillRow]
    substitutes: Mapping[int, Substitute]


def kit_rows(known: KnownItems, kit_ids: Iterable[int]) -> KitRows:
    """Return the kits that are offered, and these, with their bills; three statements."""
    fields = (
        "id", "item_id", "shelf_days", "minimum_kits", "multiple_kits", "first_pack_on",
        "last_pack_on", "last_sale_on", "price", "floor_share", "offered",
    )  # fmt: skip
    kits = Kit.objects.filter(Q(offered=True) | Q(pk__in=list(kit_ids)))
    kits = kits.order_by("item__code")
    found = list(kits.annotate(state=F("method__revision__state")).values(*fields, "state"))
    made = tuple(_kit(row, known) for row in found)
    place = {kit.kit_id: at for at, kit in enumerate(made)}
    lines = KitBillLine.objects.filter(kit__in=list(place)).order_by("kit_id", "position")
    return KitRows(
        kits=made,
        place=place,
        floors={row["id"]: row["floor_share"] for row in found},
        rows=[BillRow._make(row) for row in lines.values_list(*BillRow._fields)],
        substitutes=_substitutes(place),
    )


def _kit(row: Mapping[str, Any], known: KnownItems) -> PlanKit:
    return PlanKit(
        kit_id=row["id"],
        item=known.place[row["item_id"]],
        shelf_days=row["shelf_days"],
        minimum=row["minimum_kits"],
        multiple=row["multiple_kits"],
        first_pack_on=row["first_pack_on"],
        last_pack_on=row["last_pack_on"],
        last_sale_on=row["last_sale_on"],
        packable=row["offered"] and row["state"] == RevisionState.OFFERED,
        price=row["price"],
    )


def _substitutes(kit_ids: Iterable[int]) -> dict[int, Substitute]:
    """Return every frozen substitute as a row in its place, with what it stands for."""
    own = ("item_id", "packed", "exact", "overage", "reference_alpha")
    fields = (name if name in own else f"bill_line__{name}" for name in BillRow._fields)
    approved = KitBillSubstitute.objects.filter(bill_line__kit__in=list(kit_ids)).order_by("pk")
    return {
        pk: Substitute(BillRow._make(facts), stands_for)
        for pk, stands_for, *facts in approved.values_list("id", "bill_line__item_id", *fields)
    }
