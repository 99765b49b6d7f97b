"""A delivery becomes a lot."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from boxwort.roles import Role
from inventory.models import Item, ItemKind, Lot
from tests import make
from tests.inventory.web.conftest import Enter
from tests.visits import read, send, words_of


def delivery(**fields: Any) -> dict[str, Any]:
    """Return what a person types for a sack of pale malt."""
    return {
        "code": "PALE-1",
        "quantity": "25",
        "place": make.place().pk,
        "received_on": "2026-03-02",
        "status": "quarantine",
        **fields,
    }


def receive(browser: Client, item: Item, key: str = "", **fields: Any) -> Any:
    return send(browser, "lot-new", query=f"?item={item.pk}", key=key, **delivery(**fields))


def test_a_sack_is_received_into_quarantine(enter: Enter) -> None:
    answer = receive(enter(Role.PACKER), make.item(), cost="31.5", supplier_lot="S-77")
    lot = Lot.objects.get(code="PALE-1")
    assert answer.status_code == 303
    assert (lot.status, lot.stock.on_hand, lot.cost_amount) == ("quarantine", 25_000_000, 315_000)
    assert lot.supplier_lot == "S-77"


def test_a_hop_is_received_in_its_usual_form_or_in_another(owner: Client) -> None:
    item = make.item("FUG", ItemKind.HOP)
    assert "As usual: pellets" in read(owner, "lot-new", item=item.pk)
    receive(owner, item, packing="barrier", form="")
    receive(owner, item, packing="barrier", form="cone", code="FUG-2")
    assert list(Lot.objects.order_by("pk").values_list("form", flat=True)) == ["", "cone"]
    assert "<dd>Cone</dd>" in read(owner, "lot-detail", Lot.objects.latest("pk").pk)


def test_another_unit_may_be_written_after_the_amount(owner: Client) -> None:
    receive(owner, make.item(), quantity="50 lb")
    assert Lot.objects.get().stock.on_hand == 22_679_619


def test_a_delivery_sent_twice_is_received_once(owner: Client) -> None:
    item = make.item()
    assert receive(owner, item, key="once").status_code == 303
    assert receive(owner, item, key="once").status_code == 303
    assert Lot.objects.get().stock.on_hand == 25_000_000


def test_who_may_release_may_receive_a_lot_released(enter: Enter) -> None:
    item = make.item()
    receive(enter(Role.PLANNER), item, status="released")
    receive(enter(Role.PACKER), item, code="PALE-2", status="released")
    assert list(Lot.objects.values_list("status", flat=True)) == ["released", "quarantine"]


@pytest.mark.parametrize(
    ("kind", "facts", "words"),
    [
        (ItemKind.YEAST, {}, "if they did not arrive cold"),
        (ItemKind.YEAST, {"yeast": make.DRY}, "broken seal"),
        (ItemKind.HOP, {}, "the day it was sampled"),
        (ItemKind.GRAIN, {"allergens": ["barley"]}, "Holds barley"),
    ],
)
def test_what_spoils_or_harms_comes_with_a_caution(
    owner: Client, kind: ItemKind, facts: dict[str, Any], words: str
) -> None:
    item = make.item("THING", kind, **facts)
    assert words in read(owner, "lot-new", item=item.pk)


def test_a_free_code_is_offered(owner: Client) -> None:
    item = make.item("PALE")
    assert 'value="PALE-260302"' in read(owner, "lot-new", item=item.pk)
    make.lot("PALE-260302", item=item)
    assert 'value="PALE-260302A"' in read(owner, "lot-new", item=item.pk)


def test_the_item_is_chosen_first(owner: Client) -> None:
    assert "There is no item to receive yet" in read(owner, "lot-new")
    make.item("PALE", name="Fern pale malt")
    text = read(owner, "lot-new")
    assert "Fern pale malt (PALE)" in text
    assert 'name="quantity"' not in text


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"quantity": "a sack"}, "Write a number of kg"),
        ({"quantity": "0"}, "quantity to receive is 0"),
        ({"quantity": "2 L"}, "L does not measure that"),
        ({"received_on": "2026-03-03"}, "has not come yet"),
        ({"packaged_on": "2026-03-01", "best_before_on": "2026-02-01"}, "earlier than packaging"),
        ({"code": "no spaces!"}, "cannot be the code of a lot"),
        ({"cost": "-1"}, "greater than or equal to 0"),
        ({"place": "0"}, "Select a valid choice"),
    ],
)
def test_a_delivery_that_cannot_be_is_shown_again(
    owner: Client, fields: dict[str, str], words: str
) -> None:
    answer = receive(owner, make.item(), **fields)
    assert answer.status_code == 422
    assert words in words_of(answer)
    assert not Lot.objects.exists()


def test_a_code_is_used_once(owner: Client) -> None:
    make.lot("PALE-1")
    answer = receive(owner, make.item())
    assert answer.status_code == 422
    assert "already a lot PALE-1" in words_of(answer)


def test_a_form_without_an_item_is_asked_for_one(owner: Client) -> None:
    assert send(owner, "lot-new").status_code == 422


@pytest.mark.parametrize("asked", ["999999", "pale"])
def test_an_item_that_is_not_there_is_not_found(owner: Client, asked: str) -> None:
    read(owner, "lot-new", expect=404, item=asked)


def test_a_kit_is_packed_and_not_received(owner: Client) -> None:
    read(owner, "lot-new", expect=404, item=make.item("KIT", ItemKind.KIT).pk)


def test_a_viewer_receives_nothing(viewer: Client) -> None:
    assert receive(viewer, make.item()).status_code == 403
    read(viewer, "lot-new", expect=403)


def test_a_lot_is_not_received_by_deleting(owner: Client) -> None:
    assert owner.delete("/lots/new/").status_code == 405
