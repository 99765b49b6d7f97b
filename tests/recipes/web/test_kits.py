"""The list of kits, and one kit with its bill of materials."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from boxwort.roles import Role
from recipes.models import Part
from recipes.services.kits import PartFacts
from tests.recipes.make import Catalogue, kit, liquid_yeast, offered, offered_kit, pale_ale
from tests.recipes.web.conftest import Enter
from tests.visits import read, send, statements


@pytest.mark.parametrize("role", list(Role))
def test_everybody_reads_the_kits(enter: Enter, goods: Catalogue, role: Role) -> None:
    offered_kit(offered(pale_ale(goods)), "KIT-A", goods)
    text = read(enter(role), "kit-list")
    for words in ("KIT-A", "20.00 L", "45.00 USD", "IBU", "SRM", "Offered"):
        assert words in text


def test_an_empty_shelf_says_what_to_do(viewer: Client) -> None:
    assert "Import a workbook" in read(viewer, "kit-list")


def test_a_kit_shows_what_goes_in_and_why_it_differs(viewer: Client, goods: Catalogue) -> None:
    offered_kit(offered(pale_ale(goods)), "KIT-A", goods)
    text = read(viewer, "kit-detail", "KIT-A")
    for words in (
        "Allergens: barley",
        "36.5 g",
        "the pouch scale goes in steps of 0.5 g",
        "At dispatch",
        "When packed",
        "Yeast option",
        "Original gravity",
        "90 days",
    ):
        assert words in text


def test_a_part_added_at_dispatch_says_so(viewer: Client, goods: Catalogue) -> None:
    parts = [PartFacts(item=goods.box, quantity=2, part=Part.DISPATCH)]
    kit(offered(pale_ale(goods)), "KIT-A", goods, parts=parts, yeast_part=Part.PACKED)
    assert read(viewer, "kit-detail", "KIT-A").count("At dispatch") == 1


def test_the_bill_is_worked_out_for_any_number_of_kits(viewer: Client, goods: Catalogue) -> None:
    offered_kit(offered(pale_ale(goods)), "KIT-A", goods)
    text = read(viewer, "kit-detail", "KIT-A", kits=24)
    assert "For 24 kits" in text
    assert "893.5 g" in text  # 24 pouches of 36.5 g and 2 % overage
    assert "64.800 kg" in text


def test_the_bill_counts_the_yeast_that_was_chosen(viewer: Client, goods: Catalogue) -> None:
    offered_kit(offered(pale_ale(goods)), "KIT-A", goods)
    query = {"kits": 2, "yeast": goods.dry_ale_yeast.pk}
    text = read(viewer, "kit-detail", "KIT-A", **query)
    counted = text[text.index("For 2 kits") :]
    assert "DRY-ALE" in counted
    assert ">ALE<" not in counted


@pytest.mark.parametrize("query", [{"kits": "many"}, {"kits": 0}, {"kits": ""}, {"kits": 10**9}])
def test_a_number_of_kits_that_cannot_be_is_refused(
    viewer: Client, goods: Catalogue, query: dict[str, Any]
) -> None:
    offered_kit(offered(pale_ale(goods)), "KIT-A", goods)
    assert "For " not in read(viewer, "kit-detail", "KIT-A", expect=422, **query)


def test_a_yeast_of_another_kit_is_refused(viewer: Client, goods: Catalogue) -> None:
    offered_kit(offered(pale_ale(goods)), "KIT-A", goods)
    query = {"kits": 2, "yeast": liquid_yeast("STRANGER").pk}
    read(viewer, "kit-detail", "KIT-A", expect=422, **query)


def test_a_kit_that_is_not_offered_shows_its_design(designer: Client, goods: Catalogue) -> None:
    made = kit(offered(pale_ale(goods)), "KIT-A", goods)
    text = read(designer, "kit-detail", "KIT-A")
    assert "as they would be today" in text
    assert reverse("kit-offer", args=[made.pk]) in text


def test_a_kit_that_is_not_there_is_not_found(viewer: Client) -> None:
    read(viewer, "kit-detail", "NONE", expect=404)


def test_the_pages_of_kits_are_not_forms(designer: Client, goods: Catalogue) -> None:
    kit(offered(pale_ale(goods)), "KIT-A", goods)
    assert send(designer, "kit-list").status_code == 405
    assert send(designer, "kit-detail", "KIT-A").status_code == 405


def test_thirty_kits_are_listed_in_as_many_statements_as_three(
    viewer: Client, goods: Catalogue
) -> None:
    revision = offered(pale_ale(goods))
    read(viewer, "kit-list")
    for number in range(3):
        offered_kit(revision, f"KIT-{number}", goods)
    three = statements(viewer, "kit-list")
    for number in range(3, 30):
        offered_kit(revision, f"KIT-{number}", goods)
    assert statements(viewer, "kit-list") == three


def test_a_kit_of_more_parts_takes_as_many_statements(viewer: Client, goods: Catalogue) -> None:
    revision = offered(pale_ale(goods))
    offered_kit(revision, "KIT-FEW", goods, parts=[])
    offered_kit(revision, "KIT-MANY", goods)
    read(viewer, "kit-detail", "KIT-FEW")
    few, many = (statements(viewer, "kit-detail", code) for code in ("KIT-FEW", "KIT-MANY"))
    assert few == many
