"""Approved substitutes over the API: what a cut offers, and using it."""

from __future__ import annotations

import pytest

from inventory.models import Item
from tests.calling import Program, done_once, problem
from tests.planning.make import Store, ale_with_substitutes, grams, store


@pytest.fixture
def house(db: None) -> Store:
    made = store(hops=False, recipe=ale_with_substitutes)
    made.lot(made.goods.aroma, grams(3000), code="AROMA-A", alpha=0.06)
    made.lot(Item.objects.get(code="OTHER"), grams(2000), code="OTHER-A", alpha=0.12)
    return made


def test_what_the_cut_offers_is_used_once_and_taken_back(planner: Program, house: Store) -> None:
    run = house.plan()
    (line,) = planner.read("api-run-cut", run.pk)["lines"]
    (offer,) = line["offers"]
    assert (offer["item"], offer["stands_for"], offer["same_beer"]) == ("OTHER", "Bitter", True)
    assert [row["figure"] for row in offer["figures"]] == ["og", "fg", "ibu", "srm", "abv"]
    body = {name: offer[name] for name in ("line_id", "key", "substitute_id")}
    made = done_once(planner, "api-run-substitute", run.pk, body={**body, "version": run.version})
    (used,) = made["lines"][0]["substitutes"]
    assert (used["item_name"], used["stands_for"]) == ("Other", "Bitter")
    assert planner.read("api-run-cut", run.pk)["complete"]
    back = {**body, "version": made["version"], "substitute_id": None}
    made = planner.does("api-run-substitute", run.pk, body=back)
    assert made["lines"][0]["substitutes"] == []


def test_what_was_not_approved_is_refused(planner: Program, house: Store) -> None:
    run = house.plan()
    body = {"version": 1, "line_id": run.lines.get().pk, "key": "hop-1", "substitute_id": 999}
    answer = planner.post("api-run-substitute", run.pk, body=body)
    problem(answer, 422, "substitute-not-approved")
