"""Which runs hold a lot, fetched by the lot's own page."""

from __future__ import annotations

from django.test import Client
from django.urls import reverse

from inventory.models import Lot
from tests.planning.make import Store
from tests.planning.web.asking import HTMX, send, statements, text_of


def test_a_lot_names_the_batches_that_take_of_it(planner: Client, house: Store) -> None:
    lot = Lot.objects.get(code="BITTER-A")
    assert "No run holds any of this lot." in text_of(planner, "lot-runs", lot.pk)
    run = house.reserved(10)
    text = text_of(planner, "lot-runs", lot.pk)
    assert reverse("run-detail", args=[run.pk]) in text
    assert run.lines.get().batches.get().code in text


def test_the_fragment_is_a_table_and_the_page_is_whole(planner: Client, house: Store) -> None:
    lot = Lot.objects.get(code="BITTER-A")
    assert "<html" in text_of(planner, "lot-runs", lot.pk)
    assert "<html" not in text_of(planner, "lot-runs", lot.pk, **HTMX)


def test_what_was_given_back_is_not_named(planner: Client, house: Store) -> None:
    run = house.reserved(10)
    send(planner, "run-give-back", run.pk, form={"version": run.version})
    lot = Lot.objects.get(code="BITTER-A")
    assert "No run holds any of this lot." in text_of(planner, "lot-runs", lot.pk)


def test_a_lot_that_is_not_there_has_no_runs(planner: Client) -> None:
    assert planner.get(reverse("lot-runs", args=[999_999])).status_code == 404


def test_the_fragment_is_not_a_form(planner: Client, house: Store) -> None:
    lot = Lot.objects.get(code="BITTER-A")
    assert send(planner, "lot-runs", lot.pk).status_code == 405


def test_many_runs_are_named_in_as_many_statements_as_one(planner: Client, house: Store) -> None:
    lot = Lot.objects.get(code="BITTER-A")
    house.reserved(5)
    one = statements(planner, "lot-runs", lot.pk)
    for _ in range(4):
        house.reserved(5)
    assert statements(planner, "lot-runs", lot.pk) == one
