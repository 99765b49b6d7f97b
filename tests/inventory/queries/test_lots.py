"""Lots as people read them, and as a plan may use them."""

from __future__ import annotations

from datetime import timedelta

import pytest

from inventory.models import AnalysisKind, ItemKind, LotStatus
from inventory.queries.items import item_row, item_rows
from inventory.queries.lots import lot_row, lot_rows, usable_lots
from inventory.queries.moves import analyses_of, moves_of, reservations_of
from inventory.queries.offers import offers_for
from inventory.services.analyses import record_analysis
from inventory.services.catalogue import write_offer, write_supplier
from inventory.services.conversions import give_back
from inventory.services.ledger import reverse_posting
from inventory.services.lots import hold_lot, move_lot, scrap_lot
from tests import make

pytestmark = pytest.mark.django_db


def _lot_row(lot, on=make.TODAY):
    row = lot_row(lot.pk, on=on)
    assert row is not None
    return row


def _item_row(item_id):
    row = item_row(item_id, on=make.TODAY)
    assert row is not None
    return row


def _moved(lot, quantity, code):
    return move_lot(
        by=make.user(),
        lot=lot,
        quantity=quantity,
        from_place=make.place(),
        to_place=make.place(code),
        occurred_on=make.TODAY,
        key=make.key(),
    )


def test_a_lot_shows_where_it_lies_and_what_is_available():
    lot = make.lot("MALT-1", 1000)
    _moved(lot, 300, "COLD")
    make.reservation(make.conversion(), lot, 250)
    row = _lot_row(lot)
    assert (row.on_hand, row.reserved, row.available) == (1000, 250, 750)
    assert [(held.place_code, held.quantity) for held in row.held] == [
        ("COLD", 300),
        ("STORE", 700),
    ]
    assert (row.item_code, row.supplier_name, row.expired) == ("PALE", "", False)


def test_a_lot_is_expired_from_the_day_after_its_date():
    lot = make.lot()
    assert not _lot_row(lot, make.BEST_BEFORE_ON).expired
    assert _lot_row(lot, make.BEST_BEFORE_ON + timedelta(days=1)).expired


def test_there_is_no_row_of_a_lot_that_is_not_there():
    assert lot_row(987_654) is None
    assert item_row(987_654) is None


def test_lots_are_found_by_what_people_remember():
    fug = make.item("FUG", ItemKind.HOP, name="Fenland Gold")
    make.lot("HOP-1", item=fug, supplier_lot="A77")
    make.lot("MALT-1", status=LotStatus.QUARANTINE)
    empty = make.lot("MALT-2", 5)
    scrap_lot(
        by=make.user(),
        lot=empty,
        place=make.place(),
        quantity=5,
        occurred_on=make.TODAY,
        key=make.key(),
        reason="spilt",
    )

    def codes(**facts):
        return [row.code for row in lot_rows(on=make.TODAY, **facts)]

    assert codes() == ["HOP-1", "MALT-1", "MALT-2"]
    assert codes(text="a77") == codes(text="fenland") == codes(kind="hop") == ["HOP-1"]
    assert codes(status="quarantine") == ["MALT-1"]
    assert codes(in_stock=True) == ["HOP-1", "MALT-1"]
    assert codes(item_id=fug.pk, text="malt") == []


def test_a_plan_takes_the_lot_that_expires_first():
    make.item()
    soon = make.lot("B", best_before_on=make.TODAY + timedelta(days=9))
    never = make.lot("A", best_before_on=None)
    early = make.lot("D", received_on=make.RECEIVED_ON - timedelta(days=1))
    late = make.lot("C")
    usable = usable_lots([soon.item_id], make.TODAY)[soon.item_id]
    assert [lot.code for lot in usable] == ["B", "D", "C", "A"]
    assert {never.code, early.code, late.code} == {"A", "D", "C"}


def test_a_plan_takes_only_what_is_released_good_here_and_free():
    good = make.lot("GOOD", 1000)
    make.reservation(make.conversion(), good, 400)
    make.reservation(make.conversion(), make.lot("TAKEN", 1000), 1000)
    make.lot("QUARANTINE", status=LotStatus.QUARANTINE)
    make.lot("EXPIRED", best_before_on=make.TODAY - timedelta(days=1))
    make.lot("COMING", received_on=make.TODAY + timedelta(days=1))
    hold_lot(by=make.user(), lot=make.lot("HELD"), expected=1)
    usable = usable_lots([good.item_id], make.TODAY)
    assert [(lot.code, lot.available) for lot in usable[good.item_id]] == [("GOOD", 600)]
    assert usable_lots([], make.TODAY) == {}


def test_an_item_adds_up_its_lots():
    good = make.lot(quantity=1000)
    make.lot(quantity=500, status=LotStatus.QUARANTINE)
    make.reservation(make.conversion(), good, 300)
    row = _item_row(good.item_id)
    assert (row.lots, row.on_hand, row.reserved, row.usable) == (2, 1500, 300, 700)
    assert row.specification["points_l_per_kg"] == 300.0
    boxes = make.item("BOX", ItemKind.PACKAGING)
    assert _item_row(boxes.pk).specification == {}
    assert [row.code for row in item_rows(text="box", active_only=True)] == ["BOX"]
    assert [row.code for row in item_rows(kind="grain")] == ["PALE"]


def test_a_move_shows_why_who_and_what_undid_it():
    lot = make.lot("MALT-1", 1000)
    posting = _moved(lot, 300, "COLD")
    reversal = reverse_posting(by=make.user(), posting=posting, key=make.key(), reason="slip")
    receipt, moved, undone = moves_of(lot.pk)
    assert (receipt.kind, receipt.from_kind, receipt.to_name) == ("receipt", "supplier", "Store")
    assert (moved.quantity, moved.by, moved.reversed_by_id) == (300, "owner", reversal.pk)
    assert (undone.reverses_id, undone.reason) == (posting.pk, "slip")


def test_analyses_show_the_newest_sample_first_and_what_was_superseded():
    lot = make.lot(item=make.item("FUG", ItemKind.HOP))
    wrong = record_analysis(
        by=make.user(), lot=lot, kind=AnalysisKind.ALPHA, sampled_on=make.RECEIVED_ON, value=0.3
    )
    record_analysis(
        by=make.user(),
        lot=lot,
        kind=AnalysisKind.ALPHA,
        sampled_on=make.TODAY,
        value=0.05,
        supersedes=wrong,
    )
    newest, first = analyses_of(lot.pk)
    assert (newest.value, newest.unit, newest.superseded) == (0.05, "share", False)
    assert first.superseded


def test_reservations_show_the_open_ones_first():
    lot, work = make.lot(), make.conversion("RUN-1")
    make.reservation(work, lot, 10)
    give_back(by=make.user(), conversion=work)
    make.reservation(work, lot, 20)
    assert [(row.quantity, row.ending) for row in reservations_of(lot.pk)] == [
        (20, ""),
        (10, "released"),
    ]


def test_the_preferred_offer_comes_first_with_its_own_lead_time():
    malt = make.item()
    slow = write_supplier(by=make.user(), code="AFAR", name="Afar", lead_days=30)
    near = write_supplier(by=make.user(), code="NEAR", name="Near", lead_days=5)
    write_offer(by=make.user(), supplier=slow, item=malt, pack_quantity=10)
    write_offer(
        by=make.user(),
        supplier=near,
        item=malt,
        pack_quantity=20,
        lead_days=2,
        preferred=True,
        supplier_code="PM25",
        breaks=[(1, 900), (5, 800)],
    )
    first, second = offers_for([malt.pk])[malt.pk]
    assert (first.supplier_code, first.lead_days, first.breaks) == (
        "NEAR",
        2,
        ((1, 900), (5, 800)),
    )
    assert (second.supplier_code, second.lead_days, second.breaks) == ("AFAR", 30, ())
    assert first.supplier_item_code == "PM25"


@pytest.mark.parametrize("count", [3, 30])
def test_a_thousand_lots_cost_as_many_statements_as_one(count, django_assert_num_queries):
    lots = [make.lot(f"MALT-{number:02d}", item=make.item()) for number in range(count)]
    supplier = write_supplier(by=make.user(), code="NEAR", name="Near")
    boxes = [make.item(f"BOX-{number}", ItemKind.PACKAGING) for number in range(count)]
    for number, box in enumerate(boxes):
        write_offer(
            by=make.user(), supplier=supplier, item=box, pack_quantity=10 + number, breaks=[(1, 5)]
        )
    for number in range(count):
        scrap_lot(
            by=make.user(),
            lot=lots[0],
            place=make.place(),
            quantity=1,
            occurred_on=make.TODAY,
            key=f"scrap-{number}",
            reason="torn bag",
        )
    with django_assert_num_queries(2):
        assert len(lot_rows(on=make.TODAY)) == count
    with django_assert_num_queries(1):
        assert len(usable_lots([lots[0].item_id], make.TODAY)[lots[0].item_id]) == count
    with django_assert_num_queries(1):
        assert len(item_rows(on=make.TODAY)) == count + 1
    with django_assert_num_queries(2):
        assert len(offers_for([box.pk for box in boxes])) == count
    with django_assert_num_queries(1):
        assert len(moves_of(lots[0].pk)) == count + 1
