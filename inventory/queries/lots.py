"""Lots as people read them, and lots as a plan may use them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import F, Q, QuerySet
from django.utils import timezone

from inventory.models import Balance, Lot, LotStatus


@dataclass(frozen=True, kw_only=True)
class Held:
    """How much of a lot lies in one storage place, in whole units of its measure."""

    place_id: int
    place_code: str
    place_name: str
    quantity: int


@dataclass(frozen=True, kw_only=True)
class LotRow:
    """A lot with its stock; quantities in whole units of ``measure``, money in ten-thousandths.

    ``form`` is how hops are pressed, by the lot or else by its item; "" of anything else.
    """

    id: int
    code: str
    item_id: int
    item_code: str
    item_name: str
    item_kind: str
    measure: str
    supplier_name: str
    supplier_lot: str
    received_on: date
    packaged_on: date | None
    best_before_on: date | None
    status: str
    status_reason: str
    packing: str
    form: str
    cost_amount: int
    cost_quantity: int
    version: int
    on_hand: int
    reserved: int
    expired: bool
    held: tuple[Held, ...]

    @property
    def available(self) -> int:
        """On hand and not reserved."""
        return self.on_hand - self.reserved


@dataclass(frozen=True, kw_only=True)
class UsableLot:
    """A released, unexpired lot with something available, in whole units of its measure."""

    lot_id: int
    code: str
    available: int
    best_before_on: date | None
    received_on: date
    packaged_on: date | None


def lot_rows(
    *,
    on: date | None = None,
    text: str = "",
    item_id: int | None = None,
    kind: str = "",
    status: str = "",
    in_stock: bool = False,
) -> list[LotRow]:
    """Return the lots that fit, in the order of their codes; two statements.

    Parameters
    ----------
    on: the day on which expiry is judged; today in the site's time zone unless given.
    text: a part of the code, the supplier's lot, or the item's name or code.
    in_stock: only lots with something on hand.
    """
    lots = Lot.objects.all()
    if text:
        lots = lots.filter(
            Q(code__icontains=text)
            | Q(supplier_lot__icontains=text)
            | Q(item__name__icontains=text)
            | Q(item__code__icontains=text)
        )
    if item_id is not None:
        lots = lots.filter(item_id=item_id)
    if kind:
        lots = lots.filter(item__kind=kind)
    if status:
        lots = lots.filter(status=status)
    if in_stock:
        lots = lots.filter(stock__on_hand__gt=0)
    return _rows(lots, on or timezone.localdate())


def lot_row(lot_id: int, *, on: date | None = None) -> LotRow | None:
    """Return one lot, or None where there is none with this number."""
    rows = _rows(Lot.objects.filter(pk=lot_id), on or timezone.localdate())
    return rows[0] if rows else None


def usable_lots(item_ids: Iterable[int], on: date) -> dict[int, list[UsableLot]]:
    """Return the lots of each item that may be used on a day, first expired first; one statement.

    Lots without a best-before date come last; ties go to the earlier receipt.
    """
    rows = (
        Lot.objects.filter(
            Q(best_before_on__isnull=True) | Q(best_before_on__gte=on),
            item_id__in=list(item_ids),
            status=LotStatus.RELEASED,
            received_on__lte=on,
            stock__on_hand__gt=F("stock__reserved"),
        )
        .annotate(available=F("stock__on_hand") - F("stock__reserved"))
        .order_by(F("best_before_on").asc(nulls_last=True), "received_on", "id")
        .values_list(
            "item_id", "id", "code", "available", "best_before_on", "received_on", "packaged_on"
        )
    )
    usable: dict[int, list[UsableLot]] = defaultdict(list)
    for item_id, lot_id, code, available, best_before_on, received_on, packaged_on in rows:
        usable[item_id].append(
            UsableLot(
                lot_id=lot_id,
                code=code,
                available=available,
                best_before_on=best_before_on,
                received_on=received_on,
                packaged_on=packaged_on,
            )
        )
    return dict(usable)


_FIELDS = {
    "item_code": F("item__code"),
    "item_name": F("item__name"),
    "item_kind": F("item__kind"),
    "measure": F("item__measure"),
    "supplier_name": F("supplier__name"),
    "usual_form": F("item__hop__form"),
    "on_hand": F("stock__on_hand"),
    "reserved": F("stock__reserved"),
}
_OWN = (
    "id",
    "code",
    "item_id",
    "supplier_lot",
    "received_on",
    "packaged_on",
    "best_before_on",
    "status",
    "status_reason",
    "packing",
    "form",
    "cost_amount",
    "cost_quantity",
    "version",
)


def _rows(lots: QuerySet[Lot], on: date) -> list[LotRow]:
    held = _held(lots)
    rows = lots.order_by("code").annotate(**_FIELDS).values(*_OWN, *_FIELDS)
    return [_row(row, on, held[row["id"]]) for row in rows]


def _row(found: Mapping[str, Any], on: date, held: Iterable[Held]) -> LotRow:
    row = dict(found)
    usual_form = row.pop("usual_form")
    row["form"] = row["form"] or usual_form or ""
    row["supplier_name"] = row["supplier_name"] or ""
    best_before_on = row["best_before_on"]
    return LotRow(
        **row,
        expired=best_before_on is not None and best_before_on < on,
        held=tuple(held),
    )


def _held(lots: QuerySet[Lot]) -> dict[int, list[Held]]:
    rows = Balance.objects.filter(lot__in=lots.order_by(), holds_stock=True, quantity__gt=0)
    held: dict[int, list[Held]] = defaultdict(list)
    for row in rows.select_related("place").order_by("place__code"):
        held[row.lot_id].append(
            Held(
                place_id=row.place_id,
                place_code=row.place.code,
                place_name=row.place.name,
                quantity=row.quantity,
            )
        )
    return held
