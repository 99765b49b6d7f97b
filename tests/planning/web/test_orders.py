"""Purchase orders as a buyer and a packer meet them: draft, send, receive, undo, and the list."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import timedelta
from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook

from boxwort.roles import Role
from inventory.models import Lot
from inventory.services.catalogue import write_offer
from planning.models import OrderState, PurchaseOrder, Receipt
from tests.planning.buying import DUE, ON, SACK, Market, market
from tests.planning.make import PACK_ON, TODAY, Store, grams
from tests.planning.web.asking import send, statements, text_of

KG_25 = "25"


@pytest.fixture
def shop(db: None) -> Market:
    return market()


def draft_form(order: PurchaseOrder, shop: Market, **line: object) -> dict[str, object]:
    """Return a draft as its page sends it, with its first line changed."""
    return {
        "version": order.version,
        "rows": 1,
        "note": "by the gate",
        "line-0-offer": shop.malt.pk,
        "line-0-packs": 6,
        "line-0-pack_price": "38.50",
        "line-0-due_on": DUE.isoformat(),
        "line-0-kept": order.lines.get().pk,
    } | line


def delivery(order: PurchaseOrder, shop: Market, **cells: object) -> dict[str, object]:
    """Return a delivery of the order's first line as its page sends it."""
    line = order.lines.order_by("pk")[0]
    return {
        "version": order.version,
        "received_on": ON.isoformat(),
        "place": shop.shelf.pk,
        "freight": "12",
    } | {f"row-{line.pk}-{name.replace('_', '-', 1)}": value for name, value in cells.items()}


def test_the_list_puts_first_what_presses(shop: Market, planner: Client) -> None:
    sent = shop.sent(shop.line(due_on=ON))
    text = text_of(planner, "order-list")
    assert sent.code in text
    assert "Malt Company" in text
    assert (
        "No order is in that state"
        in planner.get(reverse("order-list"), {"state": "draft"}).content.decode()
    )
    assert planner.get(reverse("order-list"), {"state": "lost"}).status_code == 422


def test_a_draft_is_changed_and_sent(shop: Market, planner: Client) -> None:
    order = shop.draft(shop.line(runs="R1", need_by=DUE))
    assert send(planner, "order-change", order.pk, form=draft_form(order, shop)).status_code == 303
    line = order.lines.get()
    assert (line.quantity, line.pack_price, line.runs) == (6 * SACK, 385_000, "R1")
    order.refresh_from_db()
    asked = {"version": order.version, "on": ON.isoformat()}
    assert send(planner, "order-send", order.pk, form=asked).status_code == 303
    order.refresh_from_db()
    assert (order.state, order.note) == (OrderState.SENT, "by the gate")


@pytest.mark.parametrize(
    ("cell", "value", "said"),
    [
        ("line-0-packs", "many", "whole number"),
        ("line-0-offer", "", "Say what is ordered."),
        ("line-0-due_on", "", "Say when it is expected."),
        ("line-0-contract", "999", "not one of the available choices"),
    ],
)
def test_a_draft_that_cannot_be_read_says_where(
    shop: Market, planner: Client, cell: str, value: str, said: str
) -> None:
    order = shop.draft()
    answer = send(planner, "order-change", order.pk, form=draft_form(order, shop, **{cell: value}))
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert order.lines.get().quantity == 4 * SACK


def test_two_people_who_change_a_draft_do_not_both_win(shop: Market, planner: Client) -> None:
    order = shop.draft()
    form = draft_form(order, shop)
    assert send(planner, "order-change", order.pk, form=form).status_code == 303
    assert send(planner, "order-change", order.pk, form=form).status_code == 409


def test_promised_days_and_the_end_of_a_line(shop: Market, planner: Client) -> None:
    order = shop.sent()
    line = order.lines.get()
    later = DUE + timedelta(days=4)
    asked = {"version": order.version, f"due_{line.pk}": later.isoformat()}
    assert send(planner, "order-promise", order.pk, form=asked).status_code == 303
    line.refresh_from_db()
    assert line.due_on == later
    order.refresh_from_db()
    asked = {"version": order.version, "line": line.pk, "ended": "on"}
    assert send(planner, "order-end-line", order.pk, form=asked).status_code == 303
    order.refresh_from_db()
    assert order.state == OrderState.CLOSED
    assert "less than ordered: the rest will not come" in text_of(planner, "order-detail", order.pk)


def test_an_order_is_cancelled_with_a_reason(shop: Market, planner: Client) -> None:
    order = shop.sent()
    empty = {"version": order.version, "reason": ""}
    assert send(planner, "order-cancel", order.pk, form=empty).status_code == 422
    said = {"version": order.version, "reason": "twice"}
    assert send(planner, "order-cancel", order.pk, form=said).status_code == 303
    order.refresh_from_db()
    assert order.state == OrderState.CANCELLED


def test_a_packer_takes_a_delivery_in(shop: Market, packer: Client) -> None:
    order = shop.sent()
    assert "100.000" in text_of(packer, "order-receive", order.pk)
    form = delivery(
        order,
        shop,
        **{"0_quantity": "75", "0_damaged": KG_25, "0_damage": "wet", "0_supplier_lot": "DV-1"},
    )
    key = str(uuid.uuid4())
    assert send(packer, "order-receive", order.pk, form=form, key=key).status_code == 303
    assert send(packer, "order-receive", order.pk, form=form, key=key).status_code == 303
    lot = Lot.objects.get()
    assert (lot.stock.on_hand, lot.cost_amount, lot.supplier_lot) == (3 * SACK, 1_320_000, "DV-1")
    text = text_of(packer, "order-detail", order.pk)
    assert "wet" in text
    assert lot.code in text


def test_all_of_a_delivery_sent_twice_is_taken_in_once(shop: Market, packer: Client) -> None:
    order = shop.sent()
    form, key = delivery(order, shop, **{"0_quantity": "100"}), str(uuid.uuid4())
    for _ in range(2):
        assert send(packer, "order-receive", order.pk, form=form, key=key).status_code == 303
    assert Receipt.objects.count() == 1


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        ({"0_damaged": KG_25}, "Write what happened"),
        ({"0_quantity": "some"}, "Write a number of kg"),
        ({}, "Nothing was said to have come"),
    ],
)
def test_a_delivery_that_cannot_be_taken_in_says_why(
    shop: Market, packer: Client, cells: dict[str, str], said: str
) -> None:
    order = shop.sent()
    answer = send(packer, "order-receive", order.pk, form=delivery(order, shop, **cells))
    assert answer.status_code in (409, 422)
    assert said in answer.content.decode()
    assert Lot.objects.count() == 0


def test_a_receipt_is_undone_with_a_reason(shop: Market, planner: Client) -> None:
    order = shop.sent()
    receipt = shop.received(order, shop.arrived(order, 4 * SACK))
    assert "out of stock" in text_of(planner, "receipt-undo", receipt.pk)
    asked = {"version": receipt.version, "reason": "another order's"}
    assert send(planner, "receipt-undo", receipt.pk, form=asked).status_code == 303
    order.refresh_from_db()
    assert order.state == OrderState.SENT
    assert "Undone" in text_of(planner, "order-detail", order.pk)


def test_a_viewer_reads_orders_and_changes_none(
    shop: Market, signed_in: Callable[[Role], Client]
) -> None:
    order, viewer = shop.sent(), signed_in(Role.VIEWER)
    text_of(viewer, "order-detail", order.pk)
    paper = viewer.get(reverse("order-pdf", args=[order.pk]))
    assert paper.content.startswith(b"%PDF")
    for name in ("order-send", "order-cancel", "order-promise", "order-receive"):
        assert viewer.get(reverse(name, args=[order.pk])).status_code == 403


def test_a_draft_of_many_offers_is_shown_in_a_fixed_number_of_statements(
    shop: Market, planner: Client
) -> None:
    order = shop.draft()
    few = statements(planner, "order-change", order.pk)
    shop.draft(*(shop.line(due_on=DUE + timedelta(days=day)) for day in range(9)))
    assert statements(planner, "order-change", order.pk) == few


def test_a_list_goes_out_and_comes_back_changed(
    shop: Market, planner: Client, settings, tmp_path
) -> None:
    settings.MEDIA_ROOT = tmp_path
    order = shop.draft(shop.line(packs=4))
    out = planner.get(reverse("order-list-xlsx")).content
    workbook = load_workbook(BytesIO(out))
    workbook["Malt Company"]["J5"].value = 7
    changed = BytesIO()
    workbook.save(changed)
    changed.seek(0)
    changed.name = "orders.xlsx"
    answer = send(planner, "order-list-new", form={"workbook": changed})
    assert answer.status_code == 303
    page = planner.get(answer["Location"]).content.decode()
    assert "<strong>7</strong>" in page
    fingerprint = page.split('name="fingerprint" value="')[1].split('"')[0]
    filled = {"request_key": str(uuid.uuid4()), "fingerprint": fingerprint}
    assert planner.post(answer["Location"], filled).status_code == 303
    assert order.lines.get().quantity == 7 * SACK
    filled = {"request_key": str(uuid.uuid4()), "fingerprint": fingerprint}
    assert planner.post(answer["Location"], filled).status_code in (409, 422)


def test_a_file_that_is_no_list_is_refused(
    shop: Market, planner: Client, settings, tmp_path
) -> None:
    settings.MEDIA_ROOT = tmp_path
    assert send(planner, "order-list-new", form={}).status_code == 422
    assert planner.get(reverse("order-list-changes", args=["nothing"])).status_code in (409, 422)


def test_what_the_purchase_list_proposes_is_drafted_from_its_page(
    house: Store, planner: Client
) -> None:
    shop = market()
    write_offer(
        by=shop.by,
        supplier=shop.supplier,
        item=house.goods.bittering,
        pack_quantity=grams(5000),
        breaks=[(1, 900_000)],
    )
    house.plan(200)
    assert "Draft these orders" in text_of(planner, "purchase-list")
    for _ in range(2):
        assert send(planner, "order-draft", form={"supplier": ""}).status_code == 303
    order = PurchaseOrder.objects.get()
    assert f'Draft <a class="code" href="/orders/{order.pk}/">' in text_of(planner, "purchase-list")
    assert send(planner, "order-draft", form={"supplier": "NOBODY"}).status_code == 422


def test_only_what_must_be_ordered_by_a_day_is_shown_downloaded_and_drafted(
    house: Store, planner: Client
) -> None:
    shop, yeast = market(), house.goods.ale_yeast
    type(yeast).objects.filter(pk=yeast.pk).update(shelf_days=40)
    write_offer(
        by=shop.by, supplier=shop.supplier, item=yeast, pack_quantity=1, breaks=[(1, 60_000)]
    )
    house.plan(5)
    house.plan(5, PACK_ON + timedelta(days=60))
    until = PACK_ON.isoformat()
    read = planner.get(reverse("purchase-list"), {"until": until}).content.decode()
    assert "1 line can wait longer" in read
    assert f"until={until}" in read
    long_ago = planner.get(reverse("purchase-list"), {"until": "2026-01-01"})
    assert "Nothing has to be ordered by" in long_ago.content.decode()
    wrong = planner.get(reverse("purchase-list"), {"until": "soon"})
    assert (wrong.status_code, "Enter a valid date" in wrong.content.decode()) == (422, True)
    assert "draft-orders" not in wrong.content.decode()
    book = planner.get(reverse("purchase-list-xlsx"), {"until": until})
    [summary, *_] = load_workbook(BytesIO(book.content)).worksheets
    assert "Only what must be ordered by" in summary["A2"].value
    for asked in (
        planner.get(reverse("purchase-list-xlsx"), {"until": "soon"}),
        send(planner, "order-draft", form={"supplier": "", "until": "soon"}),
    ):
        assert asked.status_code == 422
        assert "is not understood" in asked.content.decode()
    assert not PurchaseOrder.objects.exists()
    assert send(planner, "order-draft", form={"supplier": "", "until": until}).status_code == 303
    assert PurchaseOrder.objects.get().lines.get().need_by == PACK_ON


def test_a_draft_says_what_comes_after_its_need(house: Store, planner: Client) -> None:
    shop = market()
    order = shop.draft(shop.line(need_by=TODAY, due_on=TODAY + timedelta(days=1)))
    read = text_of(planner, "order-detail", order.pk)
    assert "After the need" in read
    assert "Awaited" not in read


def test_everybody_reads_what_kits_cost(house: Store, signed_in: Callable[[Role], Client]) -> None:
    viewer = signed_in(Role.VIEWER)
    assert house.kit.item.name in text_of(viewer, "kit-cost-list")
    text = text_of(viewer, "kit-cost-detail", house.kit.item.code)
    assert "None of it has been packed yet" in text
    assert "Nothing says what" in text
    assert viewer.get(reverse("kit-cost-detail", args=["NONE"])).status_code == 404
