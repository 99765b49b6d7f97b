"""Items over the API."""

from __future__ import annotations

from boxwort.quantities import Measure
from boxwort.roles import Role
from inventory.models import ItemKind
from tests.calling import Program, pointers, problem
from tests.make import item, lot, user


def test_an_item_is_read_with_its_stock_and_specification(owner: Program) -> None:
    hop = item("CASK", ItemKind.HOP, allergens=["sulphites"])
    lot(item=hop, quantity=2_500_000)
    read = owner.read("api-item-detail", hop.pk)
    assert read["on_hand"] == {"quantity": 2_500_000, "unit": "mg", "text": "2.500 kg"}
    assert read["usable"] == read["on_hand"]
    assert read["specification"]["planning_alpha"] == 0.08
    assert read["allergens"] == ["sulphites"]


def test_each_measure_names_its_exact_unit(owner: Program) -> None:
    item("BOX", ItemKind.PACKAGING)
    item("ACID", ItemKind.MINERAL, measure=Measure.VOLUME)
    item("PALE")
    rows = owner.read("api-item-list")["results"]
    assert {row["code"]: row["on_hand"]["unit"] for row in rows} == {
        "ACID": "uL",
        "BOX": "each",
        "PALE": "mg",
    }


def test_amounts_are_read_in_the_units_of_the_person(db: None) -> None:
    person = user(Role.VIEWER)
    person.units = "us"
    person.save()
    pale = item()
    lot(item=pale, quantity=453_592_370)
    read = Program(Role.VIEWER).read("api-item-detail", pale.pk)
    assert read["on_hand"]["text"] == "1,000.000 lb"


def test_items_are_found_by_kind_and_words(owner: Program) -> None:
    item("PALE")
    item("CASK", ItemKind.HOP)
    found = owner.read("api-item-list", kind="hop", text="ca")
    assert [row["code"] for row in found["results"]] == ["CASK"]
    assert pointers(owner.get("api-item-list", kind="beer")) == {"#/kind"}


def test_an_item_that_is_not_there_is_not_found(owner: Program) -> None:
    problem(owner.get("api-item-detail", 999), 404, "not-found")


def test_a_list_takes_as_many_statements_for_thirty_items_as_for_three(owner: Program) -> None:
    for number in range(3):
        item(f"ITEM-{number:02}")
    few = owner.statements("api-item-list")
    for number in range(3, 30):
        item(f"ITEM-{number:02}")
    assert owner.statements("api-item-list") == few


def test_pages_do_not_overlap_and_have_a_longest(owner: Program) -> None:
    for number in range(7):
        item(f"ITEM-{number}")
    first = owner.read("api-item-list", page_size=4)
    second = owner.read("api-item-list", page_size=4, page=2)
    codes = [row["code"] for row in first["results"] + second["results"]]
    assert codes == [f"ITEM-{number}" for number in range(7)]
    assert first["count"] == 7
    assert second["next"] is None
    problem(owner.get("api-item-list", page=9), 404, "not-found")
