"""Work that reserves lots, uses them and makes a lot of them."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from inventory.models import (
    Balance,
    Conversion,
    ConversionKind,
    ConversionState,
    Ending,
    ItemKind,
    Lot,
    LotStatus,
    LotStock,
    PlaceKind,
    Reservation,
)
from inventory.services.conversions import (
    cancel_conversion,
    complete_conversion,
    give_back,
    open_conversion,
    reserve_lots,
)
from inventory.services.lots import hold_lot, move_lot
from tests import make

pytestmark = pytest.mark.django_db


@pytest.fixture
def work(db):
    return make.conversion("PACK-1")


def _reserved(lot):
    return LotStock.objects.get(lot=lot).reserved


def _completed(work, *used, **facts):
    wanted = {"occurred_on": make.TODAY, "key": make.key(), **facts}
    wanted["output"] = wanted.get("output") or make.output("KITS-1", 10)
    return complete_conversion(by=make.user(), conversion=work, used=used, **wanted)


def test_reservations_come_back_in_the_order_they_were_asked_for(work):
    first, second = make.lot("MALT-1"), make.lot("MALT-2")
    wants = [make.want(second, 5, "b"), make.want(first, 7, "a"), make.want(second, 9, "a")]
    made = reserve_lots(by=make.user(), conversion=work, wants=wants, on=make.TODAY)
    assert [(row.line, row.lot_id, row.quantity) for row in made] == [
        ("b", second.pk, 5),
        ("a", first.pk, 7),
        ("a", second.pk, 9),
    ]
    assert (_reserved(first), _reserved(second)) == (7, 14)


def test_the_last_of_a_lot_is_reserved_once(work):
    lot = make.lot("MALT-1", 1000)
    make.reservation(work, lot, 600)
    with make.refused("not-enough-available") as caught:
        make.reservation(make.conversion(), lot, 401)
    assert caught.value.details == {
        "lot_id": lot.pk,
        "lot": "MALT-1",
        "item": "PALE",
        "available": 400,
        "wanted": 401,
    }
    make.reservation(make.conversion(), lot, 400)


def test_reserving_is_all_or_nothing(work):
    plenty, little = make.lot("MALT-1", 1000), make.lot("MALT-2", 1)
    with make.refused("not-enough-available"):
        reserve_lots(
            by=make.user(),
            conversion=work,
            wants=[make.want(plenty, 10), make.want(little, 2, "2")],
            on=make.TODAY,
        )
    assert _reserved(plenty) == 0
    assert not Reservation.objects.exists()


@pytest.mark.parametrize("status", [LotStatus.QUARANTINE, LotStatus.ON_HOLD])
def test_only_released_lots_are_reserved(work, status):
    with make.refused("lot-not-released"):
        make.reservation(work, make.lot(status=status), 1)


def test_a_lot_that_will_have_expired_by_the_day_of_need_is_not_reserved(work):
    lot = make.lot(best_before_on=make.TODAY + timedelta(days=7))
    with make.refused("lot-expired"):
        make.reservation(work, lot, 1, in_days=8)
    make.reservation(work, lot, 1, in_days=7)


def test_a_line_has_one_open_reservation_of_a_lot(work):
    lot = make.lot()
    first = make.reservation(work, lot, 10)
    with make.refused("line-already-reserved"):
        make.reservation(work, lot, 5)
    with make.refused("line-already-reserved"):
        reserve_lots(
            by=make.user(),
            conversion=work,
            wants=[make.want(lot, 1, "2"), make.want(lot, 1, "2")],
            on=make.TODAY,
        )
    give_back(by=make.user(), conversion=work, reservation_ids=[first.pk], ending=Ending.REPLACED)
    make.reservation(work, lot, 15)
    assert _reserved(lot) == 15


@pytest.mark.parametrize(
    ("quantity", "line", "code"),
    [
        (0, "1", "quantity-not-positive"),
        (-1, "1", "quantity-not-positive"),
        (1, "x" * 41, "text-too-long"),
    ],
)
def test_a_want_that_cannot_be_is_refused(work, quantity, line, code):
    with make.refused(code):
        make.reservation(work, make.lot(), quantity, line=line)


def test_giving_back_some_leaves_the_rest(work):
    lot = make.lot()
    first = make.reservation(work, lot, 10)
    make.reservation(work, lot, 20, line="2")
    ended = give_back(by=make.user(), conversion=work, reservation_ids=[first.pk])
    assert [row.ending for row in ended] == [Ending.RELEASED]
    assert _reserved(lot) == 20
    give_back(by=make.user(), conversion=work)
    assert _reserved(lot) == 0


def test_a_reservation_ends_once(work):
    first = make.reservation(work, make.lot(), 10)
    give_back(by=make.user(), conversion=work)
    with make.refused("reservation-not-open"):
        give_back(by=make.user(), conversion=work, reservation_ids=[first.pk])


def test_work_gives_back_only_its_own(work):
    other = make.reservation(make.conversion(), make.lot(), 10)
    with make.refused("reservation-not-open"):
        give_back(by=make.user(), conversion=work, reservation_ids=[other.pk])


def test_people_do_not_mark_reservations_lost_or_used(work):
    with make.refused("word-not-known"):
        give_back(by=make.user(), conversion=work, ending=Ending.LOST)


def test_cancelled_work_gives_everything_back_and_is_over(work):
    lot = make.lot()
    make.reservation(work, lot, 10)
    cancel_conversion(by=make.user(), conversion=work)
    assert _reserved(lot) == 0
    assert Conversion.objects.get(pk=work.pk).state == ConversionState.CANCELLED
    with make.refused("conversion-not-open"):
        make.reservation(work, lot, 1)
    with make.refused("conversion-not-open"):
        cancel_conversion(by=make.user(), conversion=work)


def test_finished_work_has_used_its_stock_and_made_a_lot(work):
    lot = make.lot("MALT-1", 1000)
    make.reservation(work, lot, 600)
    kits = _completed(work, make.used(lot, 600))
    stock = LotStock.objects.get(lot=lot)
    assert (stock.on_hand, stock.reserved) == (400, 0)
    assert LotStock.objects.get(lot=kits).on_hand == 10
    assert (kits.code, kits.status, kits.received_on) == (
        "KITS-1",
        LotStatus.RELEASED,
        make.TODAY,
    )
    assert Reservation.objects.get().ending == Ending.USED
    posting = work.postings.get()
    assert {(m.from_place.kind, m.to_place.kind) for m in posting.moves.all()} == {
        (PlaceKind.STORAGE, PlaceKind.PRODUCTION),
        (PlaceKind.PRODUCTION, PlaceKind.STORAGE),
    }
    fresh = Conversion.objects.get(pk=work.pk)
    assert (fresh.state, fresh.outputs.get()) == (ConversionState.DONE, kits)


def test_less_may_be_used_than_was_reserved(work):
    lot = make.lot("MALT-1", 1000)
    make.reservation(work, lot, 600)
    _completed(work, make.used(lot, 550), make.used(lot, 0, "2"))
    stock = LotStock.objects.get(lot=lot)
    assert (stock.on_hand, stock.reserved) == (450, 0)


def test_more_is_used_than_was_reserved_only_if_nobody_else_has_it(work):
    lot = make.lot("MALT-1", 1000)
    make.reservation(work, lot, 600)
    make.reservation(make.conversion(), lot, 300)
    with make.refused("not-enough-available"):
        _completed(work, make.used(lot, 701))
    assert Reservation.objects.filter(ended_at__isnull=True).count() == 2
    _completed(work, make.used(lot, 700))


def test_stock_is_taken_from_every_place_that_holds_it(work):
    lot = make.lot("MALT-1", 1000)
    move_lot(
        by=make.user(),
        lot=lot,
        quantity=300,
        from_place=make.place(),
        to_place=make.place("COLD"),
        occurred_on=make.TODAY,
        key=make.key(),
    )
    _completed(work, make.used(lot, 450), make.used(lot, 400, "2"))
    assert (
        sum(Balance.objects.filter(lot=lot, holds_stock=True).values_list("quantity", flat=True))
        == 150
    )
    assert Balance.objects.get(lot=lot, place__kind=PlaceKind.PRODUCTION).quantity == 850


def test_more_than_is_on_hand_is_refused_with_the_figures(work):
    lot = make.lot("MALT-1", 1000)
    with make.refused("not-enough-on-hand") as caught:
        _completed(work, make.used(lot, 1001))
    assert (caught.value.details["held"], caught.value.details["wanted"]) == (1000, 1001)


def test_the_cost_of_what_is_made_is_the_exact_sum_rounded_once(work):
    thirds = make.lot("MALT-1", 3, cost_amount=100)
    halves = make.lot("MALT-2", 6, cost_amount=100)
    kits = _completed(work, make.used(thirds, 1), make.used(halves, 1))
    assert (kits.cost_amount, kits.cost_quantity) == (50, 10)


def test_the_same_key_finishes_work_once(work):
    lot, key = make.lot("MALT-1", 1000), make.key()
    output = make.output("KITS-1", 10)
    first = _completed(work, make.used(lot, 10), output=output, key=key)
    assert _completed(work, make.used(lot, 10), output=output, key=key) == first
    with make.refused("key-used-for-another-posting"):
        _completed(work, make.used(lot, 11), output=output, key=key)
    with make.refused("conversion-not-open"):
        _completed(work, make.used(lot, 10), output=replace(output, code="KITS-2"))
    assert LotStock.objects.get(lot=lot).on_hand == 990


def test_work_uses_neither_held_nor_expired_lots(work):
    held, old = make.lot("MALT-1"), make.lot("MALT-2", best_before_on=make.TODAY)
    make.reservation(work, held, 10)
    hold_lot(by=make.user(), lot=held, expected=1)
    with make.refused("lot-not-released"):
        _completed(work, make.used(held, 10))
    with make.refused("lot-expired"):
        _completed(work, make.used(old, 10), occurred_on=make.TODAY + timedelta(days=1))
    assert not Lot.objects.filter(item__kind=ItemKind.KIT).exists()


@pytest.mark.parametrize("quantity", [0, -1])
def test_a_lot_is_not_made_of_nothing(work, quantity):
    code = "nothing-used" if quantity == 0 else "quantity-negative"
    with make.refused(code):
        _completed(work, make.used(make.lot(), quantity))


def test_work_makes_something(work):
    with make.refused("quantity-not-positive"):
        _completed(work, make.used(make.lot(), 1), output=make.output("KITS-1", 0))


def test_work_has_a_code_of_its_own(work):
    smelting: Any = "smelt"
    with make.refused("conversion-code-taken"):
        open_conversion(by=make.user(), code="PACK-1", kind=ConversionKind.PACK)
    with make.refused("code-not-valid"):
        open_conversion(by=make.user(), code="pack 1", kind=ConversionKind.PACK)
    with make.refused("word-not-known"):
        open_conversion(by=make.user(), code="PACK-2", kind=smelting)
