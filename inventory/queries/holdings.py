"""What may be done with a lot, what lies where of its item to do it with, where it comes from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from boxwort.quantities import Measure
from inventory.models import Balance, ConversionKind, ItemKind, Lot, LotStatus

_DRUMS = (ItemKind.EXTRACT, ItemKind.SUGAR, ItemKind.FLAVOURING)


@dataclass(frozen=True, kw_only=True)
class HoldingRow:
    """What lies of one lot in one storage place, in whole units of the item's measure."""

    lot_id: int
    code: str
    place_id: int
    place_name: str
    quantity: int
    best_before_on: date | None
    packing: str
    crushed: bool


@dataclass(frozen=True, kw_only=True)
class OriginRow:
    """Where a lot comes from, and the clocks that run on it; None where there is nothing to say."""

    crushed_on: date | None
    opened_on: date | None
    work_id: int | None
    work_code: str
    work_kind: str
    from_id: int | None
    from_code: str


def fitting_works(item_kind: str, measure: str, *, crushed: bool) -> tuple[ConversionKind, ...]:
    """Return the work that fits a lot by what it is; whether there is enough of it is not asked.

    >>> [kind.value for kind in fitting_works("grain", "mass", crushed=False)]
    ['repack', 'mill', 'blend']
    """
    kind = ItemKind(item_kind)
    fits = {
        ConversionKind.REPACK: kind not in {ItemKind.KIT, ItemKind.YEAST},
        ConversionKind.MILL: kind == ItemKind.GRAIN and not crushed,
        ConversionKind.DECANT: kind in _DRUMS or measure == Measure.VOLUME,
        ConversionKind.BLEND: measure != Measure.COUNT,
        ConversionKind.BREAK_DOWN: kind == ItemKind.KIT,
    }
    return tuple(work for work, does in fits.items() if does)


def holdings_of(item_id: int, on: date, *, all_of_them: bool = False) -> list[HoldingRow]:
    """Return what may be taken of the released, unexpired lots of an item; one statement.

    ``all_of_them``: also what lies nowhere any more, so that a form that is sent again after it
    took all is still the same request.
    """
    rows = Balance.objects.filter(lot__item=item_id, holds_stock=True)
    if not all_of_them:
        rows = rows.filter(quantity__gt=0, lot__status=LotStatus.RELEASED).exclude(
            lot__best_before_on__lt=on
        )
    return [
        HoldingRow(
            lot_id=row.lot_id,
            code=row.lot.code,
            place_id=row.place_id,
            place_name=row.place.name,
            quantity=row.quantity,
            best_before_on=row.lot.best_before_on,
            packing=row.lot.packing,
            crushed=row.lot.crushed_on is not None,
        )
        for row in rows.select_related("lot", "place").order_by("lot__code", "place__code")
    ]


def origin_of(lot_id: int) -> OriginRow:
    """Return where a lot comes from; one statement."""
    lot = Lot.objects.select_related("made_by", "from_lot").get(pk=lot_id)
    return OriginRow(
        crushed_on=lot.crushed_on,
        opened_on=lot.opened_on,
        work_id=lot.made_by_id,
        work_code=lot.made_by.code if lot.made_by else "",
        work_kind=lot.made_by.kind if lot.made_by else "",
        from_id=lot.from_lot_id,
        from_code=lot.from_lot.code if lot.from_lot else "",
    )
