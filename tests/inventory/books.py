"""What must hold of the ledger after every step, worked out from the rows alone."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable
from datetime import date
from typing import Any

from hypothesis.stateful import RuleBasedStateMachine, invariant

from boxwort.accounts.models import History
from inventory.models import (
    Balance,
    Conversion,
    Ending,
    Lot,
    LotStock,
    Move,
    Place,
    PlaceKind,
    Posting,
    PostingKind,
    Reservation,
)


def stored() -> tuple[tuple[Any, ...], ...]:
    """Return everything that a refusal must leave as it was."""
    return (
        tuple(Balance.objects.order_by("pk").values_list("pk", "quantity")),
        tuple(LotStock.objects.order_by("pk").values_list("pk", "on_hand", "reserved")),
        tuple(Reservation.objects.order_by("pk").values_list("pk", "ended_at", "ending")),
        tuple(Conversion.objects.order_by("pk").values_list("pk", "state", "opened_lot")),
        tuple(Lot.objects.order_by("pk").values_list("pk", "status", "version", "made_by")),
        (Posting.objects.count(), Move.objects.count(), History.objects.count()),
    )


class Books(RuleBasedStateMachine):
    """The rules of the books; a machine that does things to stock inherits them."""

    def __init__(self) -> None:
        super().__init__()
        self.ended: dict[int, tuple[Any, ...]] = {}
        self.moves: dict[int, tuple[Any, ...]] = {}
        self.places: dict[str, Place] = {}
        self.told = -1

    @invariant()
    def everything_holds(self) -> None:
        """Check every rule after each step that did something: all that is done is written down."""
        told = History.objects.count()
        if told != self.told:
            self.told = told
            for holds in self.rules_of_the_books():
                holds()

    def rules_of_the_books(self) -> tuple[Callable[[], None], ...]:
        """Return what must hold, each as a check."""
        return (
            self.books_are_right,
            self.nothing_written_ever_changes,
            self.every_gram_is_accounted_for,
            self.nothing_is_used_before_receipt_or_after_expiry,
        )

    def books_are_right(self) -> None:
        rows = Balance.objects.values_list("lot_id", "place_id", "quantity")
        balances = {(lot, place): quantity for lot, place, quantity in rows}
        replayed, in_storage = self.replay()
        assert {pair: q for pair, q in balances.items() if q} == {
            pair: q for pair, q in replayed.items() if q
        }
        for lot in {lot for lot, _ in balances}:
            assert sum(q for (of, _), q in balances.items() if of == lot) == 0
        reserved: Counter[int] = Counter()
        for lot_id, quantity in Reservation.objects.filter(ended_at__isnull=True).values_list(
            "lot_id", "quantity"
        ):
            reserved[lot_id] += quantity
        for stock in LotStock.objects.all():
            assert stock.on_hand == in_storage[stock.pk]
            assert stock.reserved == reserved[stock.pk]
            assert 0 <= stock.reserved <= stock.on_hand

    def replay(self) -> tuple[dict[tuple[int, int], int], dict[int, int]]:
        """Return balances and on hand from an empty house; no posting may leave less than zero."""
        balances: dict[tuple[int, int], int] = defaultdict(int)
        in_storage: dict[int, int] = defaultdict(int)
        for posting in Posting.objects.order_by("pk").prefetch_related(
            "moves__from_place", "moves__to_place"
        ):
            for move in posting.moves.all():
                for place, change in (
                    (move.from_place, -move.quantity),
                    (move.to_place, move.quantity),
                ):
                    balances[move.lot_id, place.pk] += change
                    if place.kind == PlaceKind.STORAGE:
                        in_storage[move.lot_id] += change
            for move in posting.moves.all():
                if move.from_place.kind == PlaceKind.STORAGE:
                    assert balances[move.lot_id, move.from_place_id] >= 0
        return balances, in_storage

    def nothing_written_ever_changes(self) -> None:
        rows = {row[0]: row for row in Move.objects.values_list()}
        assert self.moves.items() <= rows.items()
        self.moves = rows
        ended = {
            row[0]: row
            for row in Reservation.objects.filter(ended_at__isnull=False).values_list(
                "pk", "ended_at", "ending", "quantity"
            )
        }
        assert self.ended.items() <= ended.items()
        self.ended = ended
        keys = list(Posting.objects.values_list("by", "key"))
        assert len(keys) == len(set(keys))

    def every_gram_is_accounted_for(self) -> None:
        sums: dict[int, Counter[str]] = defaultdict(Counter)
        for move in Move.objects.select_related("posting__reverses", "from_place", "to_place"):
            kind = (move.posting.reverses or move.posting).kind
            if move.to_place.kind == PlaceKind.STORAGE:
                sums[move.lot_id][kind] += move.quantity
            if move.from_place.kind == PlaceKind.STORAGE:
                sums[move.lot_id][kind] -= move.quantity
        for stock in LotStock.objects.all():
            by_kind = sums[stock.pk]
            received = by_kind["receipt"] + by_kind["opening"]
            used_or_made = -by_kind["conversion"]
            waste = -by_kind["waste"] - by_kind["sample"]
            corrections, shipped = -by_kind["count"], -by_kind["dispatch"]
            assert by_kind["transfer"] == 0
            assert received == used_or_made + waste + corrections + shipped + stock.on_hand

    def nothing_is_used_before_receipt_or_after_expiry(self) -> None:
        for move in Move.objects.select_related("posting", "lot", "to_place"):
            assert move.posting.occurred_on >= move.lot.received_on
            use = move.to_place.kind in {PlaceKind.PRODUCTION, PlaceKind.CUSTOMER}
            if use and move.posting.kind != PostingKind.REVERSAL:
                best_before = move.lot.best_before_on
                assert best_before is None or move.posting.occurred_on <= best_before

    @staticmethod
    def touched_since(posting: Posting) -> bool:
        """Return whether a lot that the posting brought in is reserved, or left or was counted."""
        outside = [PlaceKind.SUPPLIER, PlaceKind.PRODUCTION]
        brought_in = posting.moves.filter(from_place__kind__in=outside).values("lot")
        undone = Posting.objects.filter(reverses__isnull=False).values("reverses")
        others = Posting.objects.filter(moves__lot__in=brought_in, reverses__isnull=True)
        others = others.exclude(pk=posting.pk).exclude(pk__in=undone)
        return (
            others.exclude(kind=PostingKind.TRANSFER).exists()
            or Reservation.objects.filter(lot__in=brought_in, ended_at__isnull=True).exists()
        )

    @staticmethod
    def latest_need_was_lost_first(lot: Lot) -> None:
        """Check the reservations that the newest loss of a lot ended against those it left."""
        rows = Reservation.objects.filter(lot=lot)
        newest = rows.filter(ending=Ending.LOST).order_by("-ended_at").first()
        if newest is None:
            return
        lost = rows.filter(ending=Ending.LOST, ended_at=newest.ended_at)
        made_before = rows.filter(made_at__lt=newest.ended_at, ended_at__isnull=True)
        needs = [(row.needed_on, row.pk) for row in made_before]
        assert all((row.needed_on, row.pk) > max(needs, default=(date.min, 0)) for row in lost)

    def storage(self, lot: Lot, code: str) -> Place:
        """Return the place of this code, or the one that holds most of the lot."""
        held = Balance.objects.filter(lot=lot, holds_stock=True).select_related("place")
        most = held.order_by("-quantity", "place")[0]
        return self.places.get(code, most.place)

    @staticmethod
    def lot(pk: int) -> Lot:
        return Lot.objects.get(pk=pk)

    @staticmethod
    def work(pk: int) -> Conversion:
        return Conversion.objects.get(pk=pk)
