"""Breaking kits down: what was packed comes back as lots of its own.

Each lot that the kits were packed from comes back as a new lot that goes on from it, with its
dates, supplier and analyses; hops have aged in the pouch meanwhile. What a kit holds of a lot is
its share of what was really used, so that nothing comes back that did not go in. What does not
come back is lost, and so may a whole component be: a torn box, yeast that is thrown away.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from boxwort.accounts.models import User
from boxwort.accounts.queries import site_settings
from boxwort.accounts.services import service
from boxwort.errors import Refusal
from inventory.models import (
    Conversion,
    ConversionKind,
    ItemKind,
    Lot,
    LotStatus,
    Place,
    PlaceKind,
)
from inventory.queries.conversions import ContentRow, contents_of
from inventory.services.balances import Lots, lock_lots
from inventory.services.conversions import input_cost
from inventory.services.entries import check_not_negative, check_quantity, lot_facts
from inventory.services.lots import new_lot
from inventory.services.works import (
    Taken,
    WorkMove,
    begin_work,
    check_loss,
    continued,
    finish_work,
    lost_of,
    shared_out,
)


@dataclass(frozen=True, kw_only=True)
class Returned:
    """What comes back of a lot that was packed: how much is good, its new code, and its place."""

    lot_id: int
    quantity: int
    code: str
    place: Place


@service
def break_down(
    *,
    by: User,
    taken: Taken,
    returned: Sequence[Returned],
    on: date,
    key: str,
    reason: str = "",
) -> Conversion:
    """Break kits of a packed lot down into what they were packed from.

    Each of their lots must be named, with zero where all of it is lost. A component whose own lot
    is on hold or rejected comes back on hold. The same key again returns the same work.

    Raises
    ------
    Refusal: the lot was not packed here, a component is not named or gives more than it holds, a
        loss above what is expected has no reason, or the ledger refuses.
    """
    asked = {
        "taken": [taken.lot_id, taken.quantity, taken.place.pk],
        "returned": [[row.lot_id, row.quantity, row.code, row.place.pk] for row in returned],
    }
    work, posting, again = begin_work(
        by=by,
        kind=ConversionKind.BREAK_DOWN,
        occurred_on=on,
        key=key,
        asked=asked,
        reason=reason,
    )
    if again:
        return work
    lots = lock_lots([taken.lot_id, *(row.lot_id for row in returned)])
    kits = lots[taken.lot_id]
    check_quantity(taken.quantity, f"take of lot {kits.code}")
    contents = packed_contents(kits, taken.quantity)
    good = _good(contents, returned)
    for row in contents:
        _check_component(row, good[row.lot_id].quantity, lots, reason)
    cost = input_cost({kits.pk: taken.quantity}, lots)
    made = _made(work, kits, contents, good, lots, on, cost)
    finish_work(
        by=by,
        conversion=work,
        posting=posting,
        moves=[
            WorkMove(
                lot=kits, quantity=taken.quantity, start=taken.place, end=PlaceKind.PRODUCTION
            ),
            *(move for row in contents for move in _back(row, good[row.lot_id], made)),
        ],
        lots={**lots, **{lot.pk: lot for lot in made.values()}},
        made=list(made.values()),
        figures={
            "lot": kits.code,
            "taken": taken.quantity,
            "lost": {row.code: row.quantity - good[row.lot_id].quantity for row in contents},
        },
    )
    return work


def packed_contents(lot: Lot, kits: int) -> list[ContentRow]:
    """Return what so many kits of a lot hold; refuse a lot that was not packed here."""
    contents = contents_of(lot, kits)
    if not contents:
        raise Refusal(
            "lot-not-packed",
            f"Lot {lot.code} was not packed here, so nobody knows what is in it.",
            "Scrap it, or receive what is good of it as new lots.",
            details=lot_facts(lot),
        )
    return contents


def _good(contents: Sequence[ContentRow], returned: Sequence[Returned]) -> Mapping[int, Returned]:
    good = {row.lot_id: row for row in returned}
    owed = {row.lot_id for row in contents}
    if set(good) != owed or len(returned) != len(owed):
        named = ", ".join(row.code for row in contents)
        raise Refusal(
            "components-not-named",
            f"These kits were packed from {named}, and each of them must be named once.",
            "Say for each how much is good; nothing where all of it is lost.",
            details={"lots": sorted(owed)},
        )
    return good


def _check_component(row: ContentRow, quantity: int, lots: Lots, reason: str) -> None:
    item = lots[row.lot_id].item
    check_not_negative(quantity, f"that came back of lot {row.code}")
    lost = lost_of(item, taken=row.quantity, made=quantity)
    check_loss(item, worked=row.quantity, lost=lost, reason=reason)


def _made(
    work: Conversion,
    kits: Lot,
    contents: Sequence[ContentRow],
    good: Mapping[int, Returned],
    lots: Lots,
    on: date,
    cost: int,
) -> dict[int, Lot]:
    """Write the lots that come back, by the lot each goes on from, and share the cost over them.

    What is lost has no cost: the rest carries it, in proportion to what it cost when packed.
    """
    weights = [input_cost({row.lot_id: good[row.lot_id].quantity}, lots) for row in contents]
    if not any(weights):
        weights = [int(good[row.lot_id].quantity > 0) for row in contents]
    if not any(weights):
        raise Refusal(
            "nothing-made",
            "Nothing of these kits came back.",
            "Scrap the kits instead.",
        )
    pouch = site_settings().pouch_packing
    made = {}
    for row, amount in zip(contents, shared_out(cost, weights), strict=True):
        source, back = lots[row.lot_id], good[row.lot_id]
        released = source.status == LotStatus.RELEASED
        lot = continued(
            source,
            conversion=work,
            on=on,
            code=back.code,
            parted_on=kits.received_on,
            status=LotStatus.RELEASED if released else LotStatus.ON_HOLD,
            status_reason="" if released else f"as lot {source.code}",
            packing=pouch if source.item.kind == ItemKind.HOP else "",
            cost_amount=amount,
            cost_quantity=back.quantity,
        )
        made[row.lot_id] = new_lot(lot)
    return made


def _back(row: ContentRow, back: Returned, made: Mapping[int, Lot]) -> list[WorkMove]:
    lot, lost = made[row.lot_id], row.quantity - back.quantity
    return [
        WorkMove(lot=lot, quantity=row.quantity, start=PlaceKind.PRODUCTION, end=back.place),
        WorkMove(lot=lot, quantity=lost, start=back.place, end=PlaceKind.WASTE),
    ]
