"""Balances and reserved totals, changed only by guarded relative updates.

Every act locks its lots first, in the order of their ids (``lock_lots``), then changes balances in
(lot, place) order, then the totals of the lots. The condition in each UPDATE makes it certain on
its own that storage never falls below zero and reserved never rises above on hand.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db.models import F, Q

from boxwort.errors import Refusal
from inventory.models import Balance, Lot, LotStock, Place, PlaceKind
from inventory.services.entries import amount, lot_facts


@dataclass(frozen=True, kw_only=True)
class MoveAsked:
    """A positive quantity of one lot to take from one place to another."""

    lot_id: int
    quantity: int
    from_place_id: int
    to_place_id: int


Lots = dict[int, Lot]
Places = dict[int, Place]


def lock_lots(lot_ids: Iterable[int]) -> Lots:
    """Return the lots as they stand now, held until the transaction ends."""
    wanted = sorted(set(lot_ids))
    rows = (
        Lot.objects.select_for_update(of=("self",), no_key=True)
        .select_related("item")
        .filter(pk__in=wanted)
        .order_by("pk")
    )
    lots = {lot.pk: lot for lot in rows}
    missing = [lot_id for lot_id in wanted if lot_id not in lots]
    if missing:
        raise Refusal(
            "lot-not-known",
            f"There is no lot with number {missing[0]}.",
            "Choose a lot from the list.",
            details={"lot_id": missing[0]},
        )
    return lots


def places_of(moves: Sequence[MoveAsked]) -> Places:
    """Return the places that the moves name."""
    wanted = {place for move in moves for place in (move.from_place_id, move.to_place_id)}
    places = Place.objects.in_bulk(wanted)
    missing = sorted(wanted - set(places))
    if missing:
        raise Refusal(
            "place-not-known",
            f"There is no place with number {missing[0]}.",
            "Choose a place from the list.",
            details={"place_id": missing[0]},
        )
    return places


def shift_balances(moves: Sequence[MoveAsked], lots: Lots, places: Places) -> None:
    """Change the balances and totals by what the moves add up to."""
    changes: dict[tuple[int, int], int] = defaultdict(int)
    for move in moves:
        changes[move.lot_id, move.from_place_id] -= move.quantity
        changes[move.lot_id, move.to_place_id] += move.quantity
    _open_balances(sorted(changes), places)
    on_hand: dict[int, int] = defaultdict(int)
    for (lot_id, place_id), change in sorted(changes.items()):
        _shift_balance(lots[lot_id], places[place_id], change)
        if _holds_stock(places[place_id]):
            on_hand[lot_id] += change
    for lot_id, change in sorted(on_hand.items()):
        _shift_on_hand(lots[lot_id], change)


def shift_reserved(lot: Lot, change: int) -> None:
    """Reserve more of a lot, or less, if that much of it is available.

    Raises
    ------
    Refusal: ``not-enough-available``, with the figures.
    """
    done = LotStock.objects.filter(
        lot=lot, reserved__gte=-change, on_hand__gte=F("reserved") + change
    ).update(reserved=F("reserved") + change)
    if not done:
        raise _not_enough_available(lot, change)


def _holds_stock(place: Place) -> bool:
    return place.kind == PlaceKind.STORAGE


def _open_balances(pairs: Sequence[tuple[int, int]], places: Places) -> None:
    rows = [
        Balance(lot_id=lot_id, place_id=place_id, holds_stock=_holds_stock(places[place_id]))
        for lot_id, place_id in pairs
    ]
    Balance.objects.bulk_create(rows, ignore_conflicts=True)


def _shift_balance(lot: Lot, place: Place, change: int) -> None:
    done = (
        Balance.objects.filter(lot=lot, place=place)
        .filter(Q(holds_stock=False) | Q(quantity__gte=-change))
        .update(quantity=F("quantity") + change)
    )
    if done:
        return
    held = Balance.objects.get(lot=lot, place=place).quantity
    raise Refusal(
        "not-enough-on-hand",
        f"{place.name} holds {amount(held, lot.item)} of lot {lot.code}, and "
        f"{amount(-change, lot.item)} of it was to leave.",
        "Take less, take it from another place, or count the lot if more of it lies there.",
        details=lot_facts(lot, place_id=place.pk, held=held, wanted=-change),
    )


def _shift_on_hand(lot: Lot, change: int) -> None:
    done = LotStock.objects.filter(lot=lot, on_hand__gte=F("reserved") - change).update(
        on_hand=F("on_hand") + change
    )
    if not done:
        raise _not_enough_available(lot, -change)


def _not_enough_available(lot: Lot, wanted: int) -> Refusal:
    stock = LotStock.objects.get(lot=lot)
    available = stock.on_hand - stock.reserved
    return Refusal(
        "not-enough-available",
        f"{amount(available, lot.item)} of lot {lot.code} is available "
        f"({amount(stock.on_hand, lot.item)} on hand, {amount(stock.reserved, lot.item)} "
        f"reserved), and {amount(wanted, lot.item)} was wanted.",
        "Take less or another lot, or cancel work that has reserved this one.",
        details=lot_facts(lot, available=available, wanted=wanted),
    )
