"""A run that is short shows what may stand in, and one button lets it."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Item
from planning.models import Run, RunLineSubstitute
from planning.services.reserving import reserve_run
from tests.planning.make import Store, ale_with_substitutes, grams, stand_in, store, using
from tests.planning.web.asking import send, text_of


@pytest.fixture
def house(db: None) -> Store:
    made = store(hops=False, recipe=ale_with_substitutes)
    made.lot(made.goods.aroma, grams(3000), code="AROMA-A", alpha=0.06)
    made.lot(Item.objects.get(code="OTHER"), grams(2000), code="OTHER-A", alpha=0.12)
    return made


def chosen(house: Store, run: Run, **more: object) -> dict[str, object]:
    known = {"version": run.version, "line": run.lines.get().pk, "key": "hop-1"}
    return known | {"substitute": stand_in(house.kit, "hop-1").id} | more


def test_the_plan_offers_the_substitute_with_its_weight_figures_and_a_button(
    house: Store, planner: Client
) -> None:
    run = house.plan()
    text = text_of(planner, "run-cut", run.pk)
    assert "Other in place of Bitter" in text
    assert "Approved by robin" in text
    assert ">Use Other</button>" in text
    assert "Original gravity" in text


def test_a_substitute_of_which_too_little_lies_here_says_so(house: Store, planner: Client) -> None:
    enough, too_many = house.plan(), house.plan(400)
    assert "not enough for all" not in text_of(planner, "run-cut", enough.pk)
    assert "not enough for all" in text_of(planner, "run-cut", too_many.pk)


def test_who_may_not_plan_sees_the_offer_without_the_button(house: Store, packer: Client) -> None:
    text = text_of(packer, "run-cut", house.plan().pk)
    assert "Other in place of Bitter" in text
    assert "Use Other" not in text


def test_the_button_puts_it_in_and_the_other_takes_it_out_again(
    house: Store, planner: Client
) -> None:
    run = house.plan()
    answer = send(planner, "run-substitute", run.pk, form=chosen(house, run))
    assert answer.headers["Location"] == reverse("run-detail", args=[run.pk])
    assert "Other stands in for Bitter (approved by robin)" in text_of(
        planner, "run-detail", run.pk
    )
    assert ">Use Bitter again</button>" in text_of(planner, "run-cut", run.pk)
    run.refresh_from_db()
    send(planner, "run-substitute", run.pk, form=chosen(house, run, substitute=""))
    assert not RunLineSubstitute.objects.exists()


def test_an_old_page_changes_nothing(house: Store, planner: Client) -> None:
    run = house.plan()
    answer = send(planner, "run-substitute", run.pk, form=chosen(house, run, version=7))
    assert answer.status_code == 409
    assert not RunLineSubstitute.objects.exists()


def test_a_form_that_names_nothing_is_refused(house: Store, planner: Client) -> None:
    run = house.plan()
    assert send(planner, "run-substitute", run.pk, form={"version": 1}).status_code == 422


def test_the_batch_and_its_sheet_say_what_stands_in(house: Store, planner: Client) -> None:
    run = using(house, house.plan(), "hop-1")
    (batch,) = reserve_run(by=house.by, run=run, expected=run.version)
    assert "for Bitter" in text_of(planner, "run-detail", run.pk)
    text = text_of(planner, "sheet-detail", batch.sheets.get().pk)
    assert "stands in for Bitter, approved by robin" in text


def test_checking_the_stock_of_a_changed_run_counts_its_substitutes(
    house: Store, planner: Client
) -> None:
    run = using(house, house.plan(), "hop-1")
    form = {"run": run.pk, "pack_on": run.pack_on, f"kits_{house.kit.pk}": 5, "version": 1}
    answer = send(planner, "run-preview", form=form)
    assert "Everything is in stock" in answer.content.decode()
