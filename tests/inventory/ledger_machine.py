"""The stock room in the hands of chance, for the tests of the ledger.

Hypothesis receives, moves, counts, holds, reserves, completes, cancels, reverses and repeats at
random, well and badly. After every step that did something each rule of the ledger is worked out
here from the rows alone, apart from the code under test; a refusal must leave everything as it was.
At the end of each day ``verify_stock`` must find nothing either.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import timedelta
from functools import partial
from typing import Any

from django.db import transaction
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    consumes,
    initialize,
    multiple,
    precondition,
    rule,
)

from boxwort.accounts.models import History
from boxwort.errors import Refusal
from inventory.models import (
    Conversion,
    ConversionKind,
    ItemKind,
    Lot,
    LotStatus,
    LotStock,
    Move,
    PlaceKind,
    Posting,
    PostingKind,
    Reservation,
)
from inventory.models.fixed import fixed_place
from inventory.queries.verify import stock_differences
from inventory.services import conversions, ledger, lots
from inventory.services.works import undo_work
from tests import make
from tests.inventory.books import Books, stored

SEEN: Counter[str] = Counter()
"""What happened over all examples: kinds of posting, endings of reservations, refusals."""

Done = Posting | Lot | Conversion
shares = st.integers(min_value=1, max_value=20)
quantities = shares | st.integers(min_value=1, max_value=100) | st.integers(-1, 150)
days = st.sampled_from([0, 0, 0, 1, 1, 2, 3, 5, 9, -1])
places = st.sampled_from(["ROOM", "COLD"])
starts = st.just("where it lies") | places
lines = st.sampled_from(["malt-1", "hop-1"])


class Ledger(Books):
    """The stock room in the hands of chance."""

    known_lots = Bundle("known_lots")
    works = Bundle("works")

    def __init__(self) -> None:
        super().__init__()
        self.room = transaction.atomic()
        self.room.__enter__()
        self.by = make.user()
        self.posted: list[tuple[Done, Callable[..., Done], str]] = []
        self.open_house()

    def open_house(self) -> None:
        """Begin with two lots, kits made of some of the first, and work that has reserved both."""
        self.item = make.item()
        self.kit = make.item("KIT-PALE", ItemKind.KIT)
        self.places = {code: make.place(code) for code in ("ROOM", "COLD")}
        first, second = (self.receive(100, 5, place, LotStatus.RELEASED) for place in self.places)
        kits = self.complete(0, True, [(first, 10)], True, 5, 1, "ROOM")
        self.first_lots = (first, second, kits)
        wanted = [(first, 30, "malt-1", 2), (second, 40, "malt-1", 2), (second, 20, "hop-1", 3)]
        self.first_work = self.reserve(0, True, wanted)
        self.posted_at_first = len(self.posted)

    def teardown(self) -> None:
        SEEN["posted at random"] += len(self.posted) - self.posted_at_first
        SEEN.update(Posting.objects.values_list("kind", flat=True))
        SEEN.update(Reservation.objects.values_list("ending", flat=True))
        try:
            assert stock_differences() == []
        finally:
            transaction.set_rollback(True)
            self.room.__exit__(None, None, None)

    def attempt(self, act: Callable[[], Any]) -> Any:
        """Do something; a refusal changes nothing, a success is written in the history."""
        before, told = stored(), History.objects.count()
        try:
            with transaction.atomic():
                done = act()
        except Refusal as refusal:
            SEEN.update([refusal.code, "refused"])
            assert stored() == before
            return None
        assert History.objects.count() > told
        return done

    def post(self, act: Callable[..., Done], differing: str = "quantity") -> Any:
        """Do something that has a request key, and remember it for repeats.

        ``differing`` names an argument by which another payload can be told from this one.
        """
        key = make.key()

        def again(**other: Any) -> Done:
            return act(**{"key": key, **other})

        done = self.attempt(again)
        if done is not None:
            self.posted.append((done, again, differing))
        return done

    @initialize(target=known_lots)
    def know_lots(self) -> Any:
        return multiple(*self.first_lots)

    @initialize(target=works)
    def know_work(self) -> Any:
        return self.first_work

    @rule(
        target=known_lots,
        quantity=quantities,
        good_for=days,
        place=places,
        status=st.sampled_from(
            [*[LotStatus.RELEASED] * 6, LotStatus.QUARANTINE, LotStatus.REJECTED]
        ),
    )
    def receive(self, quantity: int, good_for: int, place: str, status: LotStatus) -> Any:
        code = make.key().upper()
        received = self.post(
            lambda key, quantity=quantity: lots.receive_lot(
                by=self.by,
                code=code,
                item=self.item,
                received_on=make.TODAY,
                quantity=quantity,
                place=self.places[place],
                key=key,
                best_before_on=make.TODAY + timedelta(days=good_for),
                cost_amount=quantity * 7 + 1,
                status=status,
            )
        )
        return received.pk if received else multiple()

    @rule(lot=known_lots, quantity=quantities, start=starts, end=places, day=days)
    def move(self, lot: int, quantity: int, start: str, end: str, day: int) -> None:
        found = self.lot(lot)
        store = self.storage(found, start)
        self.post(
            lambda key, quantity=quantity: lots.move_lot(
                by=self.by,
                lot=found,
                quantity=quantity,
                from_place=store,
                to_place=self.places[end],
                occurred_on=make.TODAY + timedelta(days=day),
                key=key,
            )
        )

    @rule(
        lot=known_lots,
        most_reserved=st.booleans(),
        counted=st.integers(min_value=0, max_value=20) | quantities,
        place=starts,
    )
    def count(self, lot: int, most_reserved: bool, counted: int, place: str) -> None:
        found = self.lot(lot)
        if most_reserved:
            found = LotStock.objects.order_by("-reserved", "pk")[0].lot
        store = self.storage(found, place)
        self.post(
            lambda key, counted=counted: lots.count_lot(
                by=self.by,
                lot=found,
                place=store,
                counted=counted,
                occurred_on=make.TODAY,
                key=key,
                reason="weekly count",
            ),
            differing="counted",
        )
        self.latest_need_was_lost_first(found)

    @rule(lot=known_lots, quantity=quantities, place=starts, kind=st.sampled_from(lots.WASTES))
    def scrap(self, lot: int, quantity: int, place: str, kind: PostingKind) -> None:
        found = self.lot(lot)
        store = self.storage(found, place)
        self.post(
            lambda key, quantity=quantity: lots.scrap_lot(
                by=self.by,
                lot=found,
                place=store,
                quantity=quantity,
                occurred_on=make.TODAY,
                key=key,
                reason="torn bag",
                kind=kind,
            )
        )

    @rule(lot=known_lots, quantity=shares, place=starts, day=days)
    def ship(self, lot: int, quantity: int, place: str, day: int) -> None:
        found = self.lot(lot)
        store = self.storage(found, place)
        self.post(
            lambda key, quantity=quantity: ledger.post_moves(
                by=self.by,
                kind=PostingKind.DISPATCH,
                occurred_on=make.TODAY + timedelta(days=day),
                moves=[
                    ledger.MoveAsked(
                        lot_id=found.pk,
                        quantity=quantity,
                        from_place_id=store.pk,
                        to_place_id=fixed_place(PlaceKind.CUSTOMER).pk,
                    )
                ],
                key=key,
            )
        )

    @rule(
        lot=known_lots,
        change=st.sampled_from([*[lots.release_lot] * 3, lots.hold_lot, lots.reject_lot]),
        late=st.integers(min_value=0, max_value=4),
    )
    def judge(self, lot: int, change: Callable[..., Lot], late: int) -> None:
        found = self.lot(lot)
        expected = found.version + (late == 4)
        self.attempt(lambda: change(by=self.by, lot=found, expected=expected, reason="seen"))

    @rule(target=works)
    def open_work(self) -> Any:
        code = make.key().upper()
        return self.attempt(
            lambda: conversions.open_conversion(by=self.by, code=code, kind=ConversionKind.PACK)
        ).pk

    @rule(
        target=works,
        work=works,
        fresh=st.booleans(),
        wanted=st.lists(st.tuples(known_lots, shares, lines, days), min_size=1, max_size=3),
    )
    def reserve(self, work: Any, fresh: bool, wanted: list[tuple[int, int, str, int]]) -> Any:
        """Reserve for work that may be over, or for work begun for the purpose."""
        if fresh:
            work = self.open_work()
        wants = [
            conversions.Want(
                line=line,
                lot_id=lot,
                quantity=quantity,
                needed_on=make.TODAY + timedelta(days=day),
            )
            for lot, quantity, line, day in wanted
        ]
        made = self.attempt(
            lambda: conversions.reserve_lots(
                by=self.by, conversion=self.work(work), wants=wants, on=make.TODAY
            )
        )
        if made:
            assert [(row.line, row.lot_id) for row in made] == [
                (want.line, want.lot_id) for want in wants
            ]
        return work if fresh else multiple()

    @rule(work=works, some=st.none() | st.integers(min_value=0, max_value=3))
    def give_back(self, work: int, some: int | None) -> None:
        ids = None
        if some is not None:
            rows = Reservation.objects.filter(conversion=work).order_by("pk")
            ids = list(rows.values_list("pk", flat=True))[:some]
        self.attempt(
            lambda: conversions.give_back(
                by=self.by, conversion=self.work(work), reservation_ids=ids
            )
        )

    @rule(
        target=known_lots,
        work=works,
        fresh=st.booleans(),
        taken=st.lists(st.tuples(known_lots, shares), min_size=1, max_size=2),
        as_reserved=st.booleans(),
        made=st.integers(min_value=1, max_value=12) | st.just(0),
        day=days,
        place=places,
    )
    def complete(
        self,
        work: Any,
        fresh: bool,
        taken: list[tuple[int, int]],
        as_reserved: bool,
        made: int,
        day: int,
        place: str,
    ) -> Any:
        """Complete work that may be over, or work begun and reserved for the purpose."""
        if fresh:
            work = self.open_work()
            self.reserve(work, False, [(lot, quantity, "malt-1", 1) for lot, quantity in taken])
        rows = Reservation.objects.filter(conversion=work, ended_at__isnull=True)
        reserved = [(row.lot_id, row.quantity) for row in rows.order_by("pk")]
        used = [
            conversions.Used(line=f"line-{number}", lot_id=lot, quantity=quantity)
            for number, (lot, quantity) in enumerate(reserved if as_reserved else taken)
        ]
        code = make.key().upper()
        lot = self.post(
            lambda key, quantity=made: conversions.complete_conversion(
                by=self.by,
                conversion=self.work(work),
                used=used,
                output=conversions.Output(
                    code=code, item=self.kit, quantity=quantity, place=self.places[place]
                ),
                occurred_on=make.TODAY + timedelta(days=day),
                key=key,
            )
        )
        if lot is None:
            return multiple()
        consumed = Counter[int]()
        for row in used:
            consumed[row.lot_id] += row.quantity
        moves = Move.objects.filter(
            posting__conversion=work, to_place__kind=PlaceKind.PRODUCTION
        ).exclude(posting__kind=PostingKind.REVERSAL)
        posted = Counter[int]()
        for lot_id, quantity in moves.values_list("lot_id", "quantity"):
            posted[lot_id] += quantity
        assert posted == +consumed
        statuses = Lot.objects.filter(pk__in=posted).values_list("status", flat=True)
        assert set(statuses) == {LotStatus.RELEASED}
        return lot.pk

    @rule(work=consumes(works))
    def cancel(self, work: int) -> None:
        self.attempt(lambda: conversions.cancel_conversion(by=self.by, conversion=self.work(work)))

    @precondition(lambda self: self.posted)
    @rule(number=st.integers(min_value=0), day=st.none() | days)
    def reverse(self, number: int, day: int | None) -> None:
        done, _, _ = self.posted[-1 - number % len(self.posted)]
        if isinstance(done, Lot):
            done = Posting.objects.filter(moves__lot=done).order_by("pk")[0]
        on = None if day is None else make.TODAY + timedelta(days=day)
        undo: Callable[..., Posting]
        if isinstance(done, Conversion):
            touched = self.touched_since(done.postings.order_by("pk")[0])
            undo = partial(undo_work, conversion=done)
        else:
            touched = self.touched_since(done)
            undo = partial(ledger.reverse_posting, posting=done, work=done.conversion)
        reversal = self.post(
            lambda key, reason="a slip": undo(by=self.by, occurred_on=on, key=key, reason=reason),
            differing="reason",
        )
        assert reversal is None or not touched

    @precondition(lambda self: self.posted)
    @rule(number=st.integers(min_value=0))
    def repeat(self, number: int) -> None:
        done, again, _ = self.posted[-1 - number % len(self.posted)]
        before = stored()
        with transaction.atomic():
            assert again() == done
        assert stored() == before

    @precondition(lambda self: self.posted)
    @rule(number=st.integers(min_value=0))
    def reuse_a_key(self, number: int) -> None:
        _, again, differing = self.posted[-1 - number % len(self.posted)]
        other = "not the same" if differing == "reason" else 777_777
        before = stored()
        with make.refused("key-used-for-another-posting"):
            again(**{differing: other})
        assert stored() == before
