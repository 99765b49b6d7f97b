"""Customer orders at their pages."""

from __future__ import annotations

from datetime import timedelta

from django.test import Client
from django.urls import reverse

from planning.models import CustomerOrder, CustomerOrderState
from tests.planning.dispatching import line, order, zone
from tests.planning.make import TODAY, Store
from tests.planning.web.asking import send, statements, text_of


def typed(house: Store, **more: object) -> dict[str, object]:
    return {
        "customer": "Pip Dunmore",
        "promised_on": TODAY.isoformat(),
        "kit_rows": 3,
        "extra_rows": 1,
        "kit-0-kit": house.kit.pk,
        "kit-0-quantity": 2,
        "kit-0-yeast": house.goods.dry_ale_yeast.pk,
        "kit-0-grain": "crushed",
        "kit-0-price": "44.50",
        "extra-0-item": house.goods.gypsum.pk,
        "extra-0-amount": "25 g",
        "extra-0-price": "1.20",
        **more,
    }


def test_an_order_is_taken_with_kits_and_extras_and_shown(house: Store, planner: Client) -> None:
    text_of(planner, "customer-order-new")
    answer = send(planner, "customer-order-new", form=typed(house))
    made = CustomerOrder.objects.get()
    assert answer.headers["Location"] == reverse("customer-order-detail", args=[made.pk])
    text = text_of(planner, "customer-order-detail", made.pk)
    for words in ("Pip Dunmore", "2 kits", "Dry-Ale", "25.0", "90.20"):
        assert words in text, words
    assert made.code in text_of(planner, "customer-order-list")


def test_sent_twice_an_order_is_taken_once(house: Store, planner: Client) -> None:
    for _time in range(2):
        send(planner, "customer-order-new", form=typed(house), key="k-1")
    assert CustomerOrder.objects.count() == 1


def test_more_lines_keep_what_was_typed(house: Store, planner: Client) -> None:
    answer = send(planner, "customer-order-new", form=typed(house, more="more"))
    text = answer.content.decode()
    assert answer.status_code == 200
    assert 'name="kit-5-kit"' in text
    assert 'value="44.50"' in text
    assert not CustomerOrder.objects.exists()


def test_a_refusal_stands_beside_what_it_is_about(house: Store, planner: Client) -> None:
    coast = zone("COAST", ship_weekdays="3")
    answer = send(planner, "customer-order-new", form=typed(house, zone=coast.pk))
    assert answer.status_code == 422
    assert "The next day is 5" in answer.content.decode().replace("\xa0", " ")
    wrong = {"kit-1-kit": house.kit.pk, "kit-1-quantity": 1, "kit-1-grain": "whole"}
    answer = send(planner, "customer-order-new", form=typed(house, **wrong))
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "packed ahead, crushed" in text
    assert 'value="Pip Dunmore"' in text
    answer = send(planner, "customer-order-new", form=typed(house, **{"kit-0-kit": ""}))
    assert "Say which kit." in answer.content.decode()
    assert not CustomerOrder.objects.exists()


def test_an_order_is_changed_and_cancelled(house: Store, planner: Client) -> None:
    send(planner, "customer-order-new", form=typed(house))
    made = CustomerOrder.objects.get()
    form = text_of(planner, "customer-order-change", made.pk)
    assert f'<option value="{house.goods.gypsum.pk}" selected>' in form
    assert 'value="25 g"' in form
    changed = typed(house, version=made.version, **{"kit-0-quantity": 5})
    send(planner, "customer-order-change", made.pk, form=changed)
    assert made.lines.get(kit=house.kit).quantity == 5
    answer = send(planner, "customer-order-change", made.pk, form=changed)  # from the old version
    assert answer.status_code == 409
    made.refresh_from_db()
    asked = {"version": made.version, "reason": "Moved away"}
    text_of(planner, "customer-order-cancel", made.pk)
    send(planner, "customer-order-cancel", made.pk, form=asked)
    made.refresh_from_db()
    assert made.state == CustomerOrderState.CANCELLED


def test_orders_are_filtered_and_searched(house: Store, planner: Client) -> None:
    line(order("C-A", customer="Pip Dunmore"), 1, kit=house.kit)
    line(order("C-B", state=CustomerOrderState.DISPATCHED), 1, kit=house.kit, dispatched=1)
    url = reverse("customer-order-list")
    shown = {
        words: [code for code in ("C-A", "C-B") if code in planner.get(f"{url}?{words}").text]
        for words in ("", "state=dispatched", "state=all", "search=pip", "state=all&search=wort")
    }
    assert shown == {
        "": ["C-A"],
        "state=dispatched": ["C-B"],
        "state=all": ["C-A", "C-B"],
        "search=pip": ["C-A"],
        "state=all&search=wort": [],
    }
    assert planner.get(f"{url}?state=lost").status_code == 422


def test_the_list_reads_few_statements(house: Store, planner: Client) -> None:
    line(order(promised_on=TODAY + timedelta(days=1)), 1, kit=house.kit)
    few = statements(planner, "customer-order-list")
    for _each in range(9):
        line(order(), 1, kit=house.kit)
    assert statements(planner, "customer-order-list") == few
