"""Runs are found, opened, and seen as they would be packed today."""

from __future__ import annotations

from datetime import timedelta

from django.test import Client
from django.urls import reverse

from inventory.models import Lot
from inventory.services.lots import hold_lot
from planning.models import Run
from planning.services.reserving import cancel_run
from tests.planning.make import PACK_ON, Store, grams
from tests.planning.web.asking import HTMX, send, statements, text_of


def test_an_empty_list_says_what_to_do(db: None, planner: Client) -> None:
    text = text_of(planner, "run-list")
    assert "No run is open" in text
    assert reverse("run-new") in text


def test_a_packer_is_not_offered_to_plan(db: None, packer: Client) -> None:
    assert reverse("run-new") not in text_of(packer, "run-list")


def test_the_list_leaves_out_what_is_over_until_asked(house: Store, planner: Client) -> None:
    run = house.plan()
    cancel_run(by=house.by, run=run, expected=run.version)
    assert run.code not in text_of(planner, "run-list")
    assert run.code in planner.get(reverse("run-list"), {"show": "all"}).content.decode()


def test_a_planned_run_fetches_its_cut_and_links_to_it(house: Store, planner: Client) -> None:
    run = house.plan()
    text = text_of(planner, "run-detail", run.pk)
    cut = reverse("run-cut", args=[run.pk])
    assert f'hx-get="{cut}"' in text
    assert f'href="{cut}"' in text


def test_the_cut_shows_lots_weights_and_the_working_of_the_bitterness(
    house: Store, planner: Client
) -> None:
    run = house.plan(10)
    text = text_of(planner, "run-cut", run.pk, **HTMX)
    assert "<html" not in text
    assert "Everything is in stock" in text
    assert "BITTER-A" in text
    assert "Bitterness after balancing" in text
    assert "takes the difference" in text


def test_the_cut_without_javascript_is_a_page(house: Store, planner: Client) -> None:
    assert "<html" in text_of(planner, "run-cut", house.plan().pk)


def test_the_cut_of_a_run_that_is_too_big_says_what_is_short_and_how_many_are_possible(
    house: Store, planner: Client
) -> None:
    run = house.plan(1000)
    text = text_of(planner, "run-cut", run.pk)
    assert "What is short" in text
    assert "Bitter" in text
    assert " possible</strong>" in text


def test_a_reserved_run_shows_its_batches_and_what_is_wrong_with_them(
    house: Store, planner: Client
) -> None:
    run = house.reserved(10)
    lot = run.lines.get().batches.get().allocations.get(lot__code="BITTER-A").lot
    hold_lot(by=house.by, lot=lot, expected=lot.version, reason="smells of cheese")
    text = text_of(planner, "run-detail", run.pk)
    assert f"{run.code}-01" in text
    assert "is on hold" in text
    assert "IBU" in text


def test_a_batch_that_ends_before_its_brew_day_says_so(house: Store, planner: Client) -> None:
    batch = house.reserved(10).lines.get().batches.get()
    run_page = ("run-detail", batch.run_line.run_id)
    assert "does not keep until its brew day" not in text_of(planner, *run_page)
    lots = Lot.objects.filter(allocations__batch=batch)
    lots.update(best_before_on=batch.brew_on - timedelta(days=1))
    assert "does not keep until its brew day" in text_of(planner, *run_page)


def test_a_run_is_found_by_its_code(house: Store, planner: Client) -> None:
    run = house.plan()
    answer = planner.get(reverse("run-named", args=[run.code]))
    assert answer.headers["Location"] == reverse("run-detail", args=[run.pk])
    assert planner.get(reverse("run-named", args=["R-NONE"])).status_code == 404


def test_a_run_that_is_not_there_is_not_found(db: None, planner: Client) -> None:
    assert planner.get(reverse("run-detail", args=[404])).status_code == 404
    assert planner.get(reverse("run-cut", args=[404])).status_code == 404


def test_seeing_takes_no_form(house: Store, planner: Client) -> None:
    run = house.plan()
    for name, args in (("run-list", ()), ("run-detail", (run.pk,)), ("run-cut", (run.pk,))):
        assert send(planner, name, *args).status_code == 405


def test_the_list_and_the_day_take_as_many_statements_for_thirty_runs_as_for_three(
    house: Store, planner: Client
) -> None:
    for _ in range(3):
        house.plan(2)
    names = ("run-list", "today", "yeast-list", "purchase-list")
    for_three = [statements(planner, name) for name in names]
    for _ in range(27):
        house.plan(2)
    assert Run.objects.count() == 30
    assert [statements(planner, name) for name in names] == for_three


def test_a_run_of_many_batches_takes_as_many_statements_as_one_of_few(
    house: Store, planner: Client
) -> None:
    one = house.reserved(10)
    for number in range(3):
        house.lot(house.goods.bittering, grams(300), code=f"BITTER-{number}", alpha=0.08)
    house.lot(house.goods.aroma, grams(3000), code="AROMA-B", alpha=0.06)
    many = house.plan(50, PACK_ON)
    assert send(planner, "run-reserve", many.pk, form={"version": many.version}).status_code == 303
    assert many.lines.get().batches.count() > 1
    few = statements(planner, "run-detail", one.pk)
    assert statements(planner, "run-detail", many.pk) == few
