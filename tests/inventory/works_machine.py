"""The stock room in the hands of chance, with work on lots: see :mod:`ledger_machine`."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import multiple, rule

from inventory.models import WORKS, Conversion, ConversionState, Lot, LotStatus, Place
from inventory.queries.conversions import contents_of, work_rows
from inventory.services.blending import blend_lots
from inventory.services.breaking_down import Returned, break_down
from inventory.services.repacking import Left, mill_lot, repack_lot
from inventory.services.works import Made, Taken
from tests import make
from tests.inventory.ledger_machine import SEEN, Ledger, places, shares, starts
from tests.inventory.works import keeps

parts = st.integers(min_value=0, max_value=5)
reasons = st.sampled_from(["spilt", "spilt", "spilt", ""])
soon = st.sampled_from([0, 0, 0, 0, 0, 1, 1, 2, 9, -1])
mostly = st.sampled_from([True, True, True, False])


class Workshop(Ledger):
    """People who repack, mill, blend and break down at random, too."""

    def open_house(self) -> None:
        """Let grain keep six days crushed and four opened, and lose a tenth in work."""
        super().open_house()
        keeps(self.item, crushed_days=6, opened_days=4, work_loss=0.1)

    def rules_of_the_books(self) -> tuple[Callable[[], None], ...]:
        return (
            *super().rules_of_the_books(),
            self.work_gives_out_what_went_in,
            self.nothing_keeps_longer_than_what_it_was_made_of,
        )

    def teardown(self) -> None:
        kinds = Conversion.objects.filter(kind__in=WORKS).values_list("kind", flat=True)
        SEEN.update(f"{kind} at random" for kind in kinds)
        super().teardown()

    @rule(
        target=Ledger.known_lots,
        lot=Ledger.known_lots,
        act=st.sampled_from([repack_lot, mill_lot]),
        made=shares,
        left=parts,
        lost=parts | st.just(-1),
        apart=st.booleans(),
        fresh=mostly,
        start=starts,
        end=places,
        day=soon,
        reason=reasons,
    )
    def rework(
        self,
        lot: Any,
        act: Callable[..., Conversion],
        made: int,
        left: int,
        lost: int,
        apart: bool,
        fresh: bool,
        start: str,
        end: str,
        day: int,
        reason: str,
    ) -> Any:
        """Work on any lot, or on one received for the purpose."""
        if fresh:
            lot = self.receive(60, 5, "ROOM", LotStatus.RELEASED)
        found, key_code = self.lot(lot), make.key().upper()
        rest = Left(quantity=left, code=f"{key_code}-R" if apart and left else "")
        taken = Taken(lot_id=lot, quantity=made + left + lost, place=self.storage(found, start))
        return self._worked(
            lambda key, quantity=made: act(
                by=self.by,
                taken=taken,
                made=Made(code=key_code, quantity=quantity, place=self.places[end]),
                left=rest,
                on=self._day(day),
                key=key,
                reason=reason,
            )
        )

    @rule(
        target=Ledger.known_lots,
        taken=st.lists(st.tuples(Ledger.known_lots, shares), min_size=1, max_size=3),
        fresh=mostly,
        lost=parts,
        end=places,
        day=soon,
        reason=reasons,
    )
    def blend(
        self,
        taken: list[tuple[Any, int]],
        fresh: bool,
        lost: int,
        end: str,
        day: int,
        reason: str,
    ) -> Any:
        """Blend any lots, or ones received for the purpose."""
        if fresh:
            taken = [(self.receive(60, 5, "ROOM", LotStatus.RELEASED), part) for _, part in taken]
        rows = [
            Taken(lot_id=lot, quantity=quantity, place=self.storage(self.lot(lot), "most"))
            for lot, quantity in taken
        ]
        code, made = make.key().upper(), sum(row.quantity for row in rows) - lost
        return self._worked(
            lambda key, quantity=made: blend_lots(
                by=self.by,
                taken=rows,
                made=Made(code=code, quantity=quantity, place=self.places[end]),
                on=self._day(day),
                key=key,
                reason=reason,
            )
        )

    @rule(
        target=Ledger.known_lots,
        lot=Ledger.known_lots,
        number=st.integers(min_value=1, max_value=3),
        newest=mostly,
        lost=st.lists(st.sampled_from([0, 0, 0, 0, 1, 5]), min_size=3, max_size=3),
        end=places,
        day=soon,
        reason=reasons,
    )
    def break_down(
        self, lot: int, number: int, newest: bool, lost: list[int], end: str, day: int, reason: str
    ) -> Any:
        """Break down some of a lot, or of the newest kits."""
        kits = Lot.objects.filter(item=self.kit).latest("pk") if newest else self.lot(lot)
        returned = self._returned(kits, number, lost, self.places[end])
        place = self.storage(kits, "most")
        return self._worked(
            lambda key, quantity=number: break_down(
                by=self.by,
                taken=Taken(lot_id=kits.pk, quantity=quantity, place=place),
                returned=returned,
                on=self._day(day),
                key=key,
                reason=reason,
            )
        )

    def work_gives_out_what_went_in(self) -> None:
        for work in work_rows():
            assert work.kind in WORKS
            assert work.state in {ConversionState.DONE, ConversionState.CANCELLED}
            assert work.outputs
            for row in work.balances:
                assert row.used == row.made + row.left + row.lost
                assert min(row.made, row.left, row.lost) >= 0

    def nothing_keeps_longer_than_what_it_was_made_of(self) -> None:
        for lot in Lot.objects.filter(from_lot__isnull=False).select_related("from_lot"):
            work = lot.made_by
            until = lot.from_lot.best_before_on if lot.from_lot else None
            assert until is not None
            closed_again = work is not None and work.state == ConversionState.CANCELLED
            opened_since = lot.from_lot is not None and lot.from_lot.opened_on is not None
            later = lot.best_before_on is None or lot.best_before_on > until
            assert closed_again or opened_since or not later

    def _worked(self, act: Callable[..., Conversion]) -> Any:
        """Do work, and know the lots it made."""
        done = self.post(act)
        return multiple(*(lot.pk for lot in done.outputs.all())) if done else multiple()

    @staticmethod
    def _returned(kits: Lot, number: int, lost: Sequence[int], place: Place) -> list[Returned]:
        return [
            Returned(
                lot_id=row.lot_id,
                quantity=max(0, row.quantity - less),
                code=make.key().upper(),
                place=place,
            )
            for row, less in zip(contents_of(kits, number), lost, strict=False)
        ]

    @staticmethod
    def _day(day: int) -> date:
        return make.TODAY + timedelta(days=day)
