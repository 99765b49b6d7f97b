"""verify_stock finds whatever was changed behind the ledger's back."""

from __future__ import annotations

from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.utils import timezone

from inventory.models import (
    Balance,
    Conversion,
    Lot,
    LotStock,
    Move,
    Place,
    Posting,
    Reservation,
)
from inventory.models.guards import drop_guards, install_guards
from inventory.queries.verify import stock_differences
from inventory.services.conversions import complete_conversion
from inventory.services.ledger import reverse_posting
from tests import make

pytestmark = pytest.mark.django_db


@pytest.fixture
def house(db):
    """Return a lot of which some is reserved and some became kits, and the work for both."""
    lot = make.lot("MALT-1", 1000)
    open_work, done = make.conversion("OPEN"), make.conversion("DONE")
    make.reservation(open_work, lot, 300)
    complete_conversion(
        by=make.user(),
        conversion=done,
        used=[make.used(lot, 200)],
        output=make.output("KITS-1"),
        occurred_on=make.TODAY,
        key=make.key(),
    )
    assert stock_differences() == []
    return lot


@pytest.fixture
def _unguarded(house):
    drop_guards("default")
    yield
    install_guards("default")


def _verified():
    out = StringIO()
    try:
        call_command("verify_stock", stdout=out, skip_checks=True)
    except CommandError as ended:
        return ended.returncode, out.getvalue()
    return 0, out.getvalue()


def test_books_that_agree_say_what_was_checked(house):
    code, said = _verified()
    assert code == 0
    assert "2 lots, 2 postings, 3 moves" in said
    assert "Everything agrees" in said


def _wrong_balance(lot):
    Balance.objects.filter(lot=lot, place=make.place()).update(quantity=799)


def _lost_balance(lot):
    Balance.objects.filter(lot=lot, place=make.place()).delete()


def _wrong_kind(lot):
    Balance.objects.filter(lot=lot, place__kind="supplier").update(holds_stock=True, quantity=0)


def _wrong_on_hand(lot):
    LotStock.objects.filter(lot=lot).update(on_hand=999)


def _wrong_reserved(lot):
    LotStock.objects.filter(lot=lot).update(reserved=299)


def _lost_totals(lot):
    LotStock.objects.filter(lot=lot).delete()


def _cancelled_with_reservations(lot):
    Conversion.objects.filter(code="OPEN").update(state="cancelled")


def _ended_behind_the_back(lot):
    Reservation.objects.filter(ended_at__isnull=True).update(
        ended_at=timezone.now(), ending="released"
    )


def _done_without_a_lot(lot):
    Lot.objects.filter(code="KITS-1").update(made_by=None)


def _done_with_another_lot(lot):
    Lot.objects.filter(pk=lot.pk).update(made_by=Conversion.objects.get(code="DONE"))


def _received_later(lot):
    Lot.objects.filter(pk=lot.pk).update(received_on=make.TODAY + timedelta(days=1))


def _expired_before_use(lot):
    Lot.objects.filter(pk=lot.pk).update(best_before_on=make.TODAY - timedelta(days=1))


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (_wrong_balance, "The balance of lot MALT-1 in place"),
        (_lost_balance, "says 0, and its moves add up to 800"),
        (_wrong_kind, "mistakes its kind"),
        (_wrong_on_hand, "Lot MALT-1 says 999 on hand, and its moves add up to 800"),
        (_wrong_reserved, "says 299 reserved, and its open reservations add up to 300"),
        (_lost_totals, "Lot MALT-1 has no stock totals"),
        (_cancelled_with_reservations, "Work OPEN is over and still has 1 open"),
        (_ended_behind_the_back, "says 300 reserved, and its open reservations add up to 0"),
        (_done_without_a_lot, "Work DONE is done and made no lot"),
        (
            _done_with_another_lot,
            "Lot MALT-1 names work DONE, and none of the postings of that work made it",
        ),
        (_received_later, "before its receipt"),
        (_expired_before_use, "after its best-before day"),
    ],
)
def test_what_was_changed_by_hand_is_named(house, spoil, words):
    spoil(house)
    code, said = _verified()
    assert code == 1
    assert words in said


@pytest.mark.usefixtures("_unguarded")
def test_a_missing_guard_is_a_difference():
    code, said = _verified()
    assert code == 1
    assert "guard against update of inventory_move is missing" in said


@pytest.mark.usefixtures("_unguarded")
def test_a_changed_move_is_found_and_so_is_what_it_left_below_zero(house):
    receipt = Move.objects.filter(lot=house).earliest("pk")
    Move.objects.filter(pk=receipt.pk).update(quantity=100)
    differences = "\n".join(stock_differences())
    assert "took more of lot MALT-1" in differences
    assert "its moves add up to -100" in differences


@pytest.mark.usefixtures("_unguarded")
def test_a_move_on_a_way_its_reason_does_not_take_is_found(house):
    receipt = Move.objects.filter(lot=house).earliest("pk")
    Posting.objects.filter(pk=receipt.posting_id).update(kind="dispatch")
    assert any("is a dispatch but moved lot MALT-1" in words for words in stock_differences())


@pytest.mark.usefixtures("_unguarded")
def test_a_reversal_that_does_not_undo_its_posting_is_found(house):
    done = Conversion.objects.get(code="DONE").postings.get()
    reversal = reverse_posting(
        by=make.user(), posting=done, key=make.key(), reason="slip", work=done.conversion
    )
    Move.objects.filter(posting=reversal, lot=house).update(quantity=199)
    assert any("does not undo exactly" in words for words in stock_differences())


@pytest.mark.parametrize("count", [3, 30])
def test_verifying_costs_as_many_statements_however_much_there_is(
    house, count, django_assert_num_queries
):
    for number in range(count):
        make.lot(f"LOT-{number}", place=Place.objects.get(code="STORE"))
    stock_differences()
    with django_assert_num_queries(16):
        stock_differences()
