"""Work that turns one lot into another of the same item: repack, mill, decant.

What is left of a container that was opened either stays in its lot, which counts as opened from
then, or becomes a lot of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from boxwort.accounts.models import User
from boxwort.accounts.services import service
from boxwort.errors import Refusal
from inventory.models import Conversion, ConversionKind, ItemKind, Lot, PlaceKind
from inventory.queries.holdings import fitting_works
from inventory.services.balances import lock_lots
from inventory.services.conversions import input_cost
from inventory.services.entries import check_not_negative, check_quantity
from inventory.services.lots import new_lot
from inventory.services.works import (
    Made,
    Taken,
    WorkMove,
    begin_work,
    check_loss,
    check_packing,
    continued,
    finish_work,
    lost_of,
    open_lot,
    shared_out,
)


@dataclass(frozen=True, kw_only=True)
class Left:
    """What is left of an opened container: it stays in its lot, or becomes the lot of ``code``."""

    quantity: int = 0
    code: str = ""


NOTHING = Left()


@service
def repack_lot(
    *,
    by: User,
    taken: Taken,
    made: Made,
    on: date,
    key: str,
    packing: str = "",
    left: Left = NOTHING,
    reason: str = "",
) -> Conversion:
    """Put some of a lot into other bags: the new lot ages by its own packing from that day.

    ``packing`` is owed of hops. The same key again returns the same work.

    Raises
    ------
    Refusal: the amounts do not add up, a loss above what is expected has no reason, or the ledger
        refuses (not released, expired, reserved, not there).
    """
    return _worked(
        by=by,
        kind=ConversionKind.REPACK,
        taken=taken,
        made=made,
        on=on,
        key=key,
        left=left,
        reason=reason,
        facts={"packing": packing},
    )


@service
def mill_lot(
    *,
    by: User,
    taken: Taken,
    made: Made,
    on: date,
    key: str,
    left: Left = NOTHING,
    reason: str = "",
) -> Conversion:
    """Mill some of a lot of grain: the crushed lot keeps no longer than its crushed life."""
    return _worked(
        by=by,
        kind=ConversionKind.MILL,
        taken=taken,
        made=made,
        on=on,
        key=key,
        left=left,
        reason=reason,
        facts={"crushed_on": on},
    )


@service
def decant_lot(
    *,
    by: User,
    taken: Taken,
    made: Made,
    on: date,
    key: str,
    left: Left = NOTHING,
    reason: str = "",
) -> Conversion:
    """Fill some of a drum into smaller containers; what is left of the drum is opened from then."""
    return _worked(
        by=by,
        kind=ConversionKind.DECANT,
        taken=taken,
        made=made,
        on=on,
        key=key,
        left=left,
        reason=reason,
        facts={},
    )


def _worked(
    *,
    by: User,
    kind: ConversionKind,
    taken: Taken,
    made: Made,
    on: date,
    key: str,
    left: Left,
    reason: str,
    facts: dict[str, Any],
) -> Conversion:
    asked = {
        "taken": [taken.lot_id, taken.quantity, taken.place.pk],
        "made": [made.code, made.quantity, made.place.pk],
        "left": [left.code, left.quantity],
        "facts": facts,
    }
    work, posting, again = begin_work(
        by=by, kind=kind, occurred_on=on, key=key, asked=asked, reason=reason
    )
    if again:
        return work
    lots = lock_lots([taken.lot_id])
    source = lots[taken.lot_id]
    check_fits(kind, source)
    if kind == ConversionKind.REPACK:
        check_packing(source.item, facts["packing"])
    lost = _lost(source, taken, made, left)
    worked = taken.quantity - left.quantity
    check_loss(source.item, worked=worked, lost=lost, reason=reason)
    stays = left.quantity if not left.code else 0
    cost = input_cost({source.pk: taken.quantity - stays}, lots)
    costs = shared_out(cost, [worked, left.quantity - stays])
    outputs = [
        continued(
            source,
            conversion=work,
            on=on,
            code=made.code,
            cost_amount=costs[0],
            cost_quantity=made.quantity,
            **facts,
        )
    ]
    if left.code:
        check_quantity(left.quantity, f"leave as lot {left.code}")
        outputs.append(
            continued(
                source,
                conversion=work,
                on=on,
                code=left.code,
                cost_amount=costs[1],
                cost_quantity=left.quantity,
                opened_on=source.opened_on or on,
            )
        )
    for lot in outputs:
        new_lot(lot)
    if left.code:
        work.opened_lot = outputs[-1]
    elif stays:
        open_lot(by=by, conversion=work, lot=source, on=on)
    finish_work(
        by=by,
        conversion=work,
        posting=posting,
        moves=_moves(taken, made, source, outputs, lost=lost, stays=stays),
        lots={**lots, **{lot.pk: lot for lot in outputs}},
        made=outputs,
        figures={
            "lot": source.code,
            "taken": taken.quantity,
            "left": left.quantity,
            "lost": lost,
        },
    )
    return work


def _moves(
    taken: Taken, made: Made, source: Lot, outputs: list[Lot], *, lost: int, stays: int
) -> list[WorkMove]:
    quantities = [made.quantity, taken.quantity - stays - lost - made.quantity]
    places = [made.place, taken.place]
    return [
        WorkMove(
            lot=source,
            quantity=taken.quantity - stays - lost,
            start=taken.place,
            end=PlaceKind.PRODUCTION,
        ),
        WorkMove(lot=source, quantity=lost, start=taken.place, end=PlaceKind.WASTE),
        *(
            WorkMove(lot=lot, quantity=quantity, start=PlaceKind.PRODUCTION, end=place)
            for lot, quantity, place in zip(outputs, quantities, places, strict=False)
        ),
    ]


def _lost(source: Lot, taken: Taken, made: Made, left: Left) -> int:
    check_quantity(taken.quantity, f"take of lot {source.code}")
    check_quantity(made.quantity, "make")
    check_not_negative(left.quantity, "left")
    return lost_of(source.item, taken=taken.quantity, made=made.quantity, left=left.quantity)


def check_fits(kind: ConversionKind, lot: Lot) -> None:
    """Refuse work that does not fit a lot by what it is."""
    if kind not in fitting_works(
        lot.item.kind, lot.item.measure, crushed=lot.crushed_on is not None
    ):
        why = (
            "is crushed already"
            if kind == ConversionKind.MILL and lot.crushed_on
            else f"is {ItemKind(lot.item.kind).label.lower()}, {lot.item.name}"
        )
        raise Refusal(
            "work-does-not-fit",
            f"{kind.label} does not fit lot {lot.code}: it {why}.",
            "Mill whole grain, decant extract, syrup and what is kept by volume, break kits down; "
            "everything but kits and yeast can be repacked.",
            details={"lot": lot.code, "kind": kind},
        )
