"""A buying list goes out, is changed by hand, and comes back."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from io import BytesIO

import pytest
from openpyxl import load_workbook

from planning.documents.order_list import order_list_xlsx
from planning.documents.purchase_list import purchase_list_xlsx
from planning.models import OrderState, PurchaseOrder
from planning.queries.buying_lists import order_list
from planning.queries.list_differences import list_difference
from planning.services.drafting import draft_orders
from planning.services.order_lists import take_list_over
from planning.services.purchase_orders import send_order
from planning.services.uploads import keep_upload
from tests.make import refused
from tests.planning.buying import DUE, ON, SACK, market
from tests.planning.services.test_drafting import plan, proposed

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]
MADE_AT = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
COLUMNS = {"packs": "J", "quantity": "K", "price": "L", "day": "N", "version": "U", "offer": "V"}


@pytest.fixture(autouse=True)
def _folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


def orders_out() -> bytes:
    return order_list_xlsx(order_list(ON), made_at=MADE_AT)


def suggestions_out(shop, *lines) -> bytes:
    return purchase_list_xlsx(plan(shop, *lines), made_at=MADE_AT)


def edited(content: bytes, row: int = 5, **cells) -> bytes:
    workbook = load_workbook(BytesIO(content))
    sheet = workbook["Malt Company"]
    for name, value in cells.items():
        sheet[f"{COLUMNS[name]}{row}"].value = value
    saved = BytesIO()
    workbook.save(saved)
    return saved.getvalue()


def taken_over(shop, content: bytes, **facts) -> list[str]:
    found = list_difference(content, ON)
    digest = keep_upload(by=shop.by, content=content)
    return take_list_over(by=shop.by, digest=digest, fingerprint=found.fingerprint, on=ON, **facts)


def wrong(content: bytes) -> list[tuple[str, str]]:
    return [(problem.cell, problem.what) for problem in list_difference(content, ON).problems]


def test_a_list_that_was_not_touched_changes_nothing():
    shop = market()
    shop.sent(shop.line())
    shop.draft(shop.line(2, shop.sugar))
    found = list_difference(orders_out(), ON)
    assert (found.problems, found.changed, found.same) == ((), (), 2)
    with refused("list-changes-nothing"):
        taken_over(shop, orders_out())


def test_packs_price_and_day_of_a_draft_come_back_with_the_difference_shown():
    shop = market()
    order = shop.draft(shop.line(packs=4, runs="R1", need_by=DUE), shop.line(1, shop.sugar))
    later = DUE + timedelta(days=2)
    content = edited(orders_out(), packs=6, price=38.5, day=later)
    (change,) = list_difference(content, ON).changed
    assert (change.kind, change.was.packs, change.now.packs) == ("changed", 4, 6)
    assert (change.was.pack_price, change.now.pack_price) == (400_000, 385_000)
    assert (change.quantity_was, change.quantity_now) == (4 * SACK, 6 * SACK)
    assert taken_over(shop, content) == [order.code]
    malt, sugar = order.lines.order_by("pk")
    assert (malt.quantity, malt.pack_price, malt.due_on) == (6 * SACK, 385_000, later)
    assert (malt.runs, malt.need_by, sugar.quantity) == ("R1", DUE, SACK)


def test_no_packs_drop_a_line_of_a_draft():
    shop = market()
    order = shop.draft(shop.line(), shop.line(1, shop.sugar))
    taken_over(shop, edited(orders_out(), packs=0))
    assert order.lines.get().item.code == "SUGAR"


def test_a_sent_order_takes_a_day_a_price_and_fewer_packs():
    shop = market()
    order = shop.sent(shop.line(packs=4))
    shop.received(order, shop.arrived(order, 2 * SACK))
    assert wrong(edited(orders_out(), packs=5)) == [("J5", "4 packs were ordered.")]
    assert wrong(edited(orders_out(), packs=1)) == [("J5", "More than that has come already.")]
    taken_over(shop, edited(orders_out(), packs=3, price=41, day=DUE + timedelta(days=1)))
    line = order.lines.get()
    assert (line.quantity, line.pack_price) == (3 * SACK, 410_000)
    assert line.due_on == DUE + timedelta(days=1)


def test_a_list_of_an_order_that_has_changed_since_is_stale():
    shop = market()
    shop.draft(shop.line())
    old = edited(orders_out(), packs=9)
    shop.draft(shop.line(packs=2))
    ((cell, what),) = wrong(old)
    assert (cell, what.endswith("has changed since this list was made.")) == ("U5", True)
    with refused("list-with-problems"):
        taken_over(shop, old)


def test_suggestions_become_lines_of_a_draft_with_what_was_typed():
    shop = market()
    content = edited(suggestions_out(shop, proposed(shop.malt)), packs=5, price=39)
    (change,) = list_difference(content, ON).changed
    assert (change.kind, change.now.packs) == ("new", 5)
    (code,) = taken_over(shop, content)
    order = PurchaseOrder.objects.get(code=code)
    line = order.lines.get()
    assert (order.state, line.quantity, line.pack_price) == (OrderState.DRAFT, 5 * SACK, 390_000)
    assert (line.need_by, line.order_by, line.runs) == (DUE, ON, "R260309-1")


def test_suggestions_that_come_back_twice_are_drafted_once():
    shop = market()
    draft_orders(by=shop.by, plan=plan(shop, proposed(shop.malt)), on=ON)
    shop.draft(shop.line(4, need_by=DUE), shop.line(1, shop.sugar))
    content = edited(suggestions_out(shop, proposed(shop.malt)), packs=5)
    (change,) = list_difference(content, ON).changed
    assert (change.kind, change.was.packs, change.now.packs) == ("changed", 4, 5)
    taken_over(shop, content)
    assert list_difference(content, ON).changed == ()
    order = PurchaseOrder.objects.get()
    assert sorted(order.lines.values_list("item__code", "quantity")) == [
        ("PALE", 5 * SACK),
        ("SUGAR", SACK),
    ]


def test_a_line_of_the_draft_that_a_suggestion_replaces_is_shown_as_dropped():
    shop = market()
    shop.draft(shop.line(packs=2, need_by=DUE - timedelta(days=5)))
    found = list_difference(suggestions_out(shop, proposed(shop.malt)), ON)
    assert [change.kind for change in found.changed] == ["new", "dropped"]


@pytest.mark.parametrize(
    ("order_by", "kinds", "packs"),
    [
        (ON + timedelta(days=1), ["changed"], [4, 5]),
        (ON, ["changed", "dropped"], [5]),
        (None, ["changed", "dropped"], [5]),
    ],
    ids=["later", "in-time", "by-hand"],
)
def test_a_list_up_to_a_day_leaves_what_is_ordered_later(order_by, kinds, packs):
    shop = market()
    far = DUE + timedelta(days=30)
    shop.draft(
        shop.line(4, due_on=far, need_by=far, order_by=order_by),
        shop.line(2, need_by=DUE, order_by=ON),
    )
    listed = plan(shop, proposed(shop.malt)).due_by(ON)
    content = edited(purchase_list_xlsx(listed, made_at=MADE_AT), packs=5)
    assert [row.kind for row in list_difference(content, ON).changed] == kinds
    taken_over(shop, content)
    lines = PurchaseOrder.objects.get().lines.order_by("quantity")
    assert [line.quantity // SACK for line in lines] == packs
    assert list_difference(content, ON).changed == ()


def test_what_a_list_does_not_name_is_not_another_price():
    shop = market()
    far = DUE + timedelta(days=30)
    shop.draft(shop.line(due_on=far, need_by=far, order_by=DUE, pack_price=1))
    listed = plan(shop, proposed(shop.malt)).due_by(ON)
    found = list_difference(purchase_list_xlsx(listed, made_at=MADE_AT), ON)
    assert (len(found.changed), found.same, found.prices) == (1, 1, 0)


def test_a_suggestion_of_no_packs_drops_its_line_of_the_draft():
    shop = market()
    shop.draft(shop.line(4, need_by=DUE), shop.line(1, shop.sugar))
    content = edited(suggestions_out(shop, proposed(shop.malt)), packs=0)
    (change,) = list_difference(content, ON).changed
    assert change.kind == "dropped"
    taken_over(shop, content)
    assert PurchaseOrder.objects.get().lines.get().item.code == "SUGAR"
    assert list_difference(content, ON).changed == ()


def test_a_draft_of_which_every_line_is_dropped_is_cancelled():
    shop = market()
    shop.draft(shop.line(4, need_by=DUE))
    taken_over(shop, edited(suggestions_out(shop, proposed(shop.malt)), packs=0))
    assert PurchaseOrder.objects.get().state == OrderState.CANCELLED


def test_suggestions_that_were_sent_are_not_ordered_again():
    shop = market()
    content = edited(suggestions_out(shop, proposed(shop.malt)), packs=5)
    (code,) = taken_over(shop, content)
    order = PurchaseOrder.objects.get()
    send_order(by=shop.by, order=order, expected=order.version, on=ON)
    assert wrong(content) == [("J5", f"Order {code} was sent with these packs for this day.")]
    assert wrong(edited(content, packs=0)) == []
    assert wrong(edited(content, packs=2)) == []  # as much as that was not sent


def test_another_price_goes_into_the_offer_where_that_is_asked():
    shop = market()
    shop.draft(shop.line())
    content = edited(orders_out(), price=37.25)
    assert list_difference(content, ON).prices == 1
    taken_over(shop, content, with_prices=True)
    assert list(shop.malt.breaks.values_list("from_packs", "pack_price")) == [(1, 372_500)]


def test_formulas_are_not_worked_out_and_a_typed_quantity_must_be_that_of_the_packs():
    shop = market()
    shop.draft(shop.line(packs=4))
    assert wrong(edited(orders_out(), packs="=2+3"))[0][1] == "The cell holds a formula."
    assert wrong(edited(orders_out(), quantity=125)) == [
        ("K5", "The quantity is not that of the packs.")
    ]
    assert wrong(edited(orders_out(), packs=5, quantity=125)) == []


@pytest.mark.parametrize(
    ("cells", "cell"),
    [({"offer": 99}, "V5"), ({"day": ON - timedelta(days=1)}, "N5"), ({"packs": "many"}, "J5")],
)
def test_what_cannot_be_taken_over_is_told_by_its_cell(cells, cell):
    shop = market()
    content = edited(suggestions_out(shop, proposed(shop.malt)), **cells)
    assert [where for where, _ in wrong(content)] == [cell]
    with refused("list-with-problems"):
        taken_over(shop, content)
    assert PurchaseOrder.objects.count() == 0


def test_what_is_taken_over_is_what_was_seen():
    shop = market()
    content = edited(suggestions_out(shop, proposed(shop.malt)), packs=5)
    seen = list_difference(content, ON)
    shop.draft(shop.line(1))
    digest = keep_upload(by=shop.by, content=content)
    with refused("list-seen-otherwise"):
        take_list_over(by=shop.by, digest=digest, fingerprint=seen.fingerprint, on=ON)


def test_a_workbook_that_holds_no_list_is_refused():
    shop = market()
    workbook = load_workbook(BytesIO(orders_out()))
    saved = BytesIO()
    workbook.save(saved)
    with refused("no-buying-list"):
        list_difference(saved.getvalue(), ON)
    assert shop.supplier.orders.count() == 0


def test_a_list_is_compared_in_as_many_statements_as_its_suppliers_need(
    django_assert_num_queries,
):
    shop = market()
    for _ in range(3):
        shop.sent(shop.line(), shop.line(1, shop.sugar))
    content = orders_out()
    with django_assert_num_queries(5):
        list_difference(content, ON)
    for _ in range(6):
        shop.sent(shop.line(), shop.line(1, shop.sugar))
    content = orders_out()
    with django_assert_num_queries(5):
        list_difference(content, ON)
