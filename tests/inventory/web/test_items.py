"""The list of items, and the page of one."""

from __future__ import annotations

from dataclasses import replace

import pytest
from django.test import Client

from boxwort.roles import Role
from inventory.models import ItemKind
from inventory.services.catalogue import write_offer, write_supplier
from tests import make
from tests.inventory.web.conftest import Enter
from tests.visits import read, send, statements


@pytest.mark.parametrize("role", list(Role))
def test_everybody_reads_the_items(enter: Enter, role: Role) -> None:
    make.lot("PALE-1", 3_000_000)
    assert "3.000 kg" in read(enter(role), "item-list")


@pytest.mark.parametrize(
    ("query", "found"),
    [({}, {"PALE", "CASCADE"}), ({"text": "pal"}, {"PALE"}), ({"kind": "hop"}, {"CASCADE"})],
)
def test_the_list_is_narrowed_by_what_is_looked_for(
    viewer: Client, query: dict[str, str], found: set[str]
) -> None:
    make.item("PALE")
    make.item("CASCADE", ItemKind.HOP)
    text = read(viewer, "item-list", **query)
    assert {code for code in ("PALE", "CASCADE") if f">{code}<" in text} == found


def test_an_item_below_its_safety_stock_is_marked(viewer: Client) -> None:
    make.lot(item=make.item("PALE", safety_stock=5_000_000), quantity=4_000_000)
    assert ">Low<" in read(viewer, "item-list")


def test_an_item_shows_how_it_keeps_and_in_what_it_comes(viewer: Client) -> None:
    item = make.item(
        crushed_days=14,
        opened_days=1,
        work_loss=0.015,
        container_quantity=1_500_000,
        malt=replace(make.MALT, family="base_malt"),
    )
    text = read(viewer, "item-detail", item.pk)
    for words in ("14 days", "1 day<", "1.5 %", "1.500 kg", "Base malt"):
        assert words in text


def test_an_empty_catalogue_says_what_to_do(viewer: Client) -> None:
    assert "Import a workbook" in read(viewer, "item-list")
    assert "No item fits this search" in read(viewer, "item-list", text="nothing")


def test_a_kind_nobody_packs_cannot_be_looked_for(viewer: Client) -> None:
    read(viewer, "item-list", expect=422, kind="tin")


def test_an_item_shows_who_sells_it_at_which_price(viewer: Client) -> None:
    item = make.item("PALE", allergens=["barley"])
    supplier = write_supplier(by=make.user(), code="MALTINGS", name="Fern Maltings", lead_days=5)
    write_offer(
        by=make.user(),
        supplier=supplier,
        item=item,
        pack_quantity=25_000_000,
        breaks=[(1, 315_000), (10, 290_000)],
    )
    text = read(viewer, "item-detail", item.pk)
    for words in ("Fern Maltings", "25.000 kg", "31.50 USD", "29.00 USD from 10 packs", "barley"):
        assert words in text


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        (ItemKind.GRAIN, "120 °Lintner"),
        (ItemKind.HOP, "8.0 %"),
        (ItemKind.YEAST, "100 billion cells"),
    ],
)
def test_an_item_shows_its_specification(viewer: Client, kind: ItemKind, words: str) -> None:
    assert words in read(viewer, "item-detail", make.item("THING", kind).pk)


def test_an_item_shows_its_lots_and_its_history(viewer: Client) -> None:
    item = make.item()
    assert "No lot of it yet" in read(viewer, "item-detail", item.pk)
    make.lot("PALE-1", item=item)
    text = read(viewer, "item-detail", item.pk)
    assert "PALE-1" in text
    assert "History (" in text


def test_an_item_that_is_not_there_is_not_found(viewer: Client) -> None:
    read(viewer, "item-detail", 999_999, expect=404)


def test_the_pages_of_items_are_not_forms(owner: Client) -> None:
    assert send(owner, "item-list").status_code == 405
    assert send(owner, "item-detail", make.item().pk).status_code == 405


def test_thirty_items_are_listed_in_as_many_statements_as_three(viewer: Client) -> None:
    read(viewer, "item-list")
    for number in range(3):
        make.item(f"ITEM-{number}")
    three = statements(viewer, "item-list")
    for number in range(3, 30):
        make.item(f"ITEM-{number}")
    assert statements(viewer, "item-list") == three


def test_an_item_with_thirty_lots_takes_as_many_statements_as_with_three(viewer: Client) -> None:
    item = make.item()
    for _ in range(3):
        make.lot(item=item)
    three = statements(viewer, "item-detail", item.pk)
    for _ in range(27):
        make.lot(item=item)
    assert statements(viewer, "item-detail", item.pk) == three
