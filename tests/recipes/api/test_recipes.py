"""Recipes over the API."""

from __future__ import annotations

import pytest

from recipes.services.recipes import start_revision
from tests.calling import Program, pointers, problem
from tests.recipes.make import catalogue, developer, draft, offered, pale_ale


def test_a_recipe_is_read_with_its_methods_side_by_side(viewer: Program) -> None:
    pale_ale(catalogue())
    read = viewer.read("api-recipe-detail", "PALE-ALE")
    assert read["revision"]["state"] == "draft"
    extract, all_grain = sorted(read["methods"], key=lambda method: -len(method["kind"]))
    assert {extract["kind"], all_grain["kind"]} == {"extract", "all_grain"}
    assert extract["finished_volume"] == {"quantity": 20_000_000, "unit": "uL", "text": "20.00 L"}
    first = next(line for line in all_grain["lines"] if line["position"] == 1)
    assert first["quantity"]["unit"] == "mg"
    assert [option["item"] for option in read["yeasts"]] == ["ALE", "DRY-ALE"]


def test_a_figure_comes_with_its_working(viewer: Program) -> None:
    pale_ale(catalogue())
    figures = viewer.read("api-recipe-detail", "PALE-ALE")["methods"][0]["figures"]
    assert 1.03 < figures["og"]["value"] < 1.07
    assert figures["ibu"]["source"]
    assert figures["ibu"]["parts"]
    assert figures["ibu"]["value"] == pytest.approx(
        sum(part["value"] for part in figures["ibu"]["parts"])
    )


def test_a_numbered_revision_is_read_or_is_not_there(viewer: Program) -> None:
    first = offered(pale_ale(catalogue()))
    start_revision(by=developer(), recipe=first.recipe)
    assert viewer.read("api-recipe-detail", "PALE-ALE")["revision"]["number"] == 1
    read = viewer.read("api-recipe-detail", "PALE-ALE", revision=2)
    assert read["revision"]["number"] == 2
    problem(viewer.get("api-recipe-detail", "PALE-ALE", revision=9), 404, "not-found")
    assert pointers(viewer.get("api-recipe-detail", "PALE-ALE", revision="x")) == {"#/revision"}
    problem(viewer.get("api-recipe-detail", "NOTHING"), 404, "not-found")


def test_a_list_takes_as_many_statements_for_thirty_recipes_as_for_three(viewer: Program) -> None:
    for number in range(3):
        draft(f"R-{number:02}")
    few = viewer.statements("api-recipe-list")
    for number in range(3, 30):
        draft(f"R-{number:02}")
    assert viewer.statements("api-recipe-list") == few


def test_who_only_reads_begins_no_recipe(viewer: Program) -> None:
    problem(viewer.post("api-recipe-list"), 403, "forbidden")
