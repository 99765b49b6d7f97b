"""Kits over the API: figures and bills."""

from __future__ import annotations

import pytest

from recipes.models import Kit
from tests.calling import Program, pointers, problem
from tests.recipes.make import Catalogue, catalogue, kit, offered, offered_kit, pale_ale


@pytest.fixture
def goods(db: None) -> Catalogue:
    return catalogue()


@pytest.fixture
def sold(goods: Catalogue) -> Kit:
    return offered_kit(offered(pale_ale(goods)), "KIT-PALE", goods)


def test_kits_are_listed_with_their_figures(viewer: Program, sold: Kit) -> None:
    [row] = viewer.read("api-kit-list")["results"]
    assert row["code"] == "KIT-PALE"
    assert row["price"] == {"amount": "45.00", "currency": "USD"}
    assert row["volume"]["quantity"] == 20_000_000
    assert row["target_ibu"] == sold.target_ibu
    assert viewer.read("api-kit-list", recipe="PALE-ALE")["count"] == 1
    assert viewer.read("api-kit-list", recipe="OTHER")["count"] == 0


def test_a_kit_is_read_with_its_bill_and_working(viewer: Program, sold: Kit) -> None:
    read = viewer.read("api-kit-detail", "KIT-PALE")
    assert read["kit"]["ibu"] == read["figures"]["ibu"]["value"]
    bill = {row["key"]: row for row in read["bill"]}
    assert bill["hop-1"]["packed"]["unit"] == "mg"
    assert bill["hop-1"]["role"] == "absorb"
    assert read["allergens"] == ["barley"]


def test_the_bill_of_ten_kits_is_ten_times_the_box_and_the_overage(
    viewer: Program, sold: Kit
) -> None:
    one = viewer.read("api-kit-bill", "KIT-PALE")
    ten = viewer.read("api-kit-bill", "KIT-PALE", kits=10)
    assert (one["kits"], ten["kits"]) == (1, 10)
    for row in ten["rows"]:
        quantities = {name: row[name]["quantity"] for name in ("per_kit", "overage", "total")}
        assert quantities["total"] == 10 * quantities["per_kit"] + quantities["overage"]


def test_the_bill_names_the_yeast_asked_for(viewer: Program, sold: Kit) -> None:
    rows = viewer.read("api-kit-bill", "KIT-PALE", yeast="DRY-ALE")["rows"]
    assert [row["item"] for row in rows if row["is_yeast_option"]] == ["DRY-ALE"]


def test_a_bill_that_cannot_be_made_says_why(viewer: Program, goods: Catalogue, sold: Kit) -> None:
    assert pointers(viewer.get("api-kit-bill", "KIT-PALE", kits=0)) == {"#/kits"}
    assert pointers(viewer.get("api-kit-bill", "KIT-PALE", yeast="CRYSTAL")) == {"#/yeast"}
    problem(viewer.get("api-kit-bill", "NOTHING"), 404, "not-found")
    kit(sold.method.revision, "KIT-NEW", goods)
    problem(viewer.get("api-kit-bill", "KIT-NEW"), 422, "kit-not-offered")


def test_a_kit_that_is_not_there_is_not_found(viewer: Program) -> None:
    problem(viewer.get("api-kit-detail", "NOTHING"), 404, "not-found")
    problem(viewer.client.get("/api/v1/kits/KIT%00/"), 404, "not-found")


def test_a_list_takes_as_many_statements_for_thirty_kits_as_for_three(
    viewer: Program, goods: Catalogue
) -> None:
    revision = offered(pale_ale(goods))
    for number in range(3):
        kit(revision, f"KIT-{number:02}", goods)
    few = viewer.statements("api-kit-list")
    for number in range(3, 30):
        kit(revision, f"KIT-{number:02}", goods)
    assert viewer.statements("api-kit-list") == few
