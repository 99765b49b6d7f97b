"""Taking, changing and cancelling customer orders."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from boxwort.accounts.models import DayOff, History
from inventory.models import Item
from planning.models import CustomerOrder, CustomerOrderState
from planning.services.customer_orders import (
    cancel_customer_order,
    change_customer_order,
    take_customer_order,
)
from planning.services.order_checks import LineAsked
from recipes.models import Kit, Part
from tests.make import refused
from tests.planning.dispatching import zone
from tests.planning.make import TODAY, Store, planner, store

pytestmark = pytest.mark.django_db
TUESDAY = TODAY + timedelta(days=1)


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_, **__: TODAY)


@pytest.fixture
def shop() -> Store:
    return store(hops=False)


def taken(*lines: LineAsked, on: date = TUESDAY, **facts) -> CustomerOrder:
    known = {"customer": "Alder and Ash", "promised_on": on} | facts
    return take_customer_order(by=planner(), lines=lines, **known)


def changed(order: CustomerOrder, *lines: LineAsked, **facts) -> None:
    known = {"customer": order.customer, "promised_on": order.promised_on, "zone": order.zone}
    change_customer_order(
        by=planner(), order=order, expected=order.version, lines=lines, **(known | facts)
    )


def test_an_order_is_taken_with_its_options_extras_and_the_price_of_the_list(shop: Store) -> None:
    Kit.objects.update(price=520_000)
    shop.kit.refresh_from_db()
    order = taken(
        LineAsked(kit=shop.kit, quantity=3, yeast=shop.goods.dry_ale_yeast),
        LineAsked(item=shop.goods.crystal, quantity=500_000, price=40_000),
        zone=zone(),
    )
    assert order.code == "C260302-1"
    kits, extra = order.lines.all()
    assert kits.yeast is not None
    assert (kits.kit, kits.yeast.code, kits.quantity, kits.price) == (
        shop.kit,
        "DRY-ALE",
        3,
        520_000,
    )
    assert (extra.item, extra.quantity, extra.price) == (shop.goods.crystal, 500_000, 40_000)
    assert History.objects.filter(action="took order", thing_id=order.pk).count() == 1
    assert taken(LineAsked(kit=shop.kit, quantity=1)).code == "C260302-2"


def test_a_code_is_for_one_order(shop: Store) -> None:
    line = LineAsked(kit=shop.kit, quantity=1)
    taken(line, code="CO-1")
    with refused("order-code-taken"):
        taken(line, code="CO-1")
    with refused("code-not-valid"):
        taken(line, code="co 1")


def test_what_cannot_be_sold_is_refused_with_the_line_that_asks_for_it(shop: Store) -> None:
    good = LineAsked(item=shop.goods.gypsum, quantity=10_000)
    kit = shop.kit
    wrong = {
        "yeast-not-an-option": LineAsked(kit=kit, quantity=1, yeast=shop.goods.crystal),
        "grain-packed-ahead": LineAsked(kit=kit, quantity=1, crushed=False),
        "order-quantity-not-possible": LineAsked(kit=kit, quantity=0),
        "extra-is-a-kit": LineAsked(item=kit.item, quantity=1),
        "yeast-without-kit": LineAsked(item=shop.goods.box, quantity=1, yeast=shop.goods.ale_yeast),
        "order-line-twice": good,
        "order-line-empty": LineAsked(quantity=1),
    }
    for code, line in wrong.items():
        with refused(code) as caught:
            taken(good, line)
        number = 1 if code == "order-line-twice" else 2
        assert caught.value.details == {"line": number}
    with refused("order-lines-missing"):
        taken()
    with refused("customer-missing"):
        taken(good, customer="  ")
    assert not CustomerOrder.objects.exists()


def test_a_kit_that_is_not_offered_or_no_longer_sold_is_refused(shop: Store) -> None:
    Kit.objects.update(last_sale_on=TODAY)
    shop.kit.refresh_from_db()
    with refused("kit-last-sold"):
        taken(LineAsked(kit=shop.kit, quantity=1))
    assert taken(LineAsked(kit=shop.kit, quantity=1), on=TODAY).promised_on == TODAY
    Kit.objects.update(offered=False)
    shop.kit.refresh_from_db()
    with refused("kit-not-offered"):
        taken(LineAsked(kit=shop.kit, quantity=1), on=TODAY)


def test_grain_goes_out_whole_only_where_it_is_added_at_dispatch(shop: Store) -> None:
    shop.kit.grain_part = Part.DISPATCH
    order = taken(LineAsked(kit=shop.kit, quantity=1, crushed=False))
    assert not order.lines.get().crushed


def test_another_yeast_is_not_chosen_for_a_kit_that_is_packed_with_its_own(shop: Store) -> None:
    shop.kit.yeast_part = Part.PACKED
    taken(LineAsked(kit=shop.kit, quantity=1, yeast=shop.goods.ale_yeast))
    with refused("yeast-packed-ahead"):
        taken(LineAsked(kit=shop.kit, quantity=1, yeast=shop.goods.dry_ale_yeast))


def test_a_day_on_which_nothing_leaves_is_refused_with_the_next_that_does(shop: Store) -> None:
    line = LineAsked(kit=shop.kit, quantity=1)
    coast = zone("COAST", ship_weekdays="03")
    with refused("zone-does-not-ship") as caught:
        taken(line, zone=coast)
    assert caught.value.details == {"next_day": "2026-03-05"}
    DayOff.objects.create(on=date(2026, 3, 5), name="Fair")
    with refused("zone-does-not-ship") as caught:
        taken(line, zone=coast)
    assert caught.value.details == {"next_day": "2026-03-09"}
    with refused("zone-does-not-ship"):
        taken(line, on=date(2026, 3, 5))  # without a zone the house itself must work
    coast.active = False
    with refused("zone-not-in-use"):
        taken(line, zone=coast, on=TODAY)


def test_an_order_is_changed_while_nothing_of_it_has_left(shop: Store) -> None:
    order = taken(LineAsked(kit=shop.kit, quantity=1))
    changed(order, LineAsked(kit=shop.kit, quantity=2), customer="Pip Dunmore")
    assert (order.customer, order.lines.get().quantity) == ("Pip Dunmore", 2)
    stale = CustomerOrder.objects.get(pk=order.pk)
    stale.version -= 1
    with refused("changed-by-someone-else"):
        change_customer_order(
            by=planner(),
            order=stale,
            expected=order.version - 1,
            customer="Late",
            promised_on=TUESDAY,
            lines=[LineAsked(kit=shop.kit, quantity=9)],
        )
    order.lines.update(dispatched=1)
    with refused("order-has-left"):
        changed(order, LineAsked(kit=shop.kit, quantity=3))


def test_a_cancelled_order_says_why_and_stays_cancelled(shop: Store) -> None:
    order = taken(LineAsked(kit=shop.kit, quantity=1))
    with refused("reason-missing"):
        cancel_customer_order(by=planner(), order=order, expected=order.version, reason=" ")
    cancel_customer_order(by=planner(), order=order, expected=order.version, reason="Moved away")
    assert CustomerOrder.objects.get().state == CustomerOrderState.CANCELLED
    assert History.objects.filter(after__reason="Moved away").count() == 1
    with refused("order-not-open"):
        cancel_customer_order(by=planner(), order=order, expected=order.version, reason="Again")
    with refused("order-not-open"):
        changed(order, LineAsked(kit=shop.kit, quantity=3))


def test_an_item_out_of_use_is_no_extra(shop: Store) -> None:
    Item.objects.filter(code="BOX").update(active=False)
    with refused("item-not-in-use"):
        taken(LineAsked(item=Item.objects.get(code="BOX"), quantity=1))
