"""A run is planned and changed on a form that works without JavaScript."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from planning.models import Run
from tests.planning.make import PACK_ON, Store
from tests.planning.web.asking import HTMX, send, text_of


def filled(house: Store, kits: object = 12, **more: Any) -> dict[str, Any]:
    return {"pack_on": PACK_ON.isoformat(), "note": "", f"kits_{house.kit.pk}": kits, **more}


def test_the_form_lists_the_kits_that_are_offered_with_their_yeasts(
    house: Store, planner: Client
) -> None:
    text = text_of(planner, "run-new")
    assert f'name="kits_{house.kit.pk}"' in text
    assert f'name="yeast_{house.kit.pk}"' in text


def test_without_a_kit_the_form_says_where_kits_come_from(db: None, planner: Client) -> None:
    assert "No kit is offered yet" in text_of(planner, "run-new")


def test_a_run_is_planned_with_the_yeast_that_was_chosen(house: Store, planner: Client) -> None:
    yeast = house.goods.dry_ale_yeast
    form = filled(house, **{f"yeast_{house.kit.pk}": yeast.pk, "note": "For the fair"})
    answer = send(planner, "run-new", form=form)
    run = Run.objects.get()
    assert answer.headers["Location"] == reverse("run-detail", args=[run.pk])
    line = run.lines.get()
    assert (line.kits, line.yeast, run.note, run.pack_on) == (12, yeast, "For the fair", PACK_ON)


def test_a_form_sent_twice_plans_one_run(house: Store, planner: Client) -> None:
    for _ in range(2):
        send(planner, "run-new", form=filled(house), key="once")
    assert Run.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"pack_on": "31 February"}, "Enter a valid date"),
        ({"pack_on": ""}, "required"),
        ({"kits": -1}, "greater than or equal to 0"),
        ({"kits": "many"}, "whole number"),
        ({"kits": ""}, "Write how many to pack"),
        ({"note": "n" * 201}, "200"),
    ],
)
def test_what_cannot_be_planned_is_shown_again_with_what_is_wrong(
    house: Store, planner: Client, wrong: dict[str, Any], said: str
) -> None:
    form = {**filled(house, wrong.pop("kits", 12)), **wrong}
    answer = send(planner, "run-new", form=form)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not Run.objects.exists()


def test_without_a_request_key_nothing_is_planned(house: Store, planner: Client) -> None:
    answer = planner.post(reverse("run-new"), filled(house))
    assert answer.status_code == 400
    assert not Run.objects.exists()


def test_a_look_at_the_stock_plans_nothing(house: Store, planner: Client) -> None:
    asked = reverse("run-preview")
    fragment = planner.post(asked, filled(house), headers=HTMX)
    assert fragment.status_code == 200
    assert "Everything is in stock" in fragment.content.decode()
    assert "<html" not in fragment.content.decode()
    page = planner.post(asked, filled(house, 5000)).content.decode()
    assert "Not all of it can be packed" in page
    assert 'value="5000"' in page
    assert not Run.objects.exists()


def test_a_look_at_a_wrong_form_says_what_is_wrong(house: Store, planner: Client) -> None:
    answer = planner.post(reverse("run-preview"), filled(house, "many"), headers=HTMX)
    assert answer.status_code == 422
    assert "whole number" in answer.content.decode()


def test_a_planned_run_is_changed(house: Store, planner: Client) -> None:
    run = house.plan(10)
    assert 'value="10"' in text_of(planner, "run-change", run.pk)
    answer = send(planner, "run-change", run.pk, form=filled(house, 16, version=run.version))
    assert answer.status_code == 303
    assert run.lines.get().kits == 16


def test_a_run_that_somebody_else_changed_is_not_overwritten(house: Store, planner: Client) -> None:
    run = house.plan(10)
    answer = send(planner, "run-change", run.pk, form=filled(house, 16, version=run.version + 1))
    assert answer.status_code == 409
    assert "changed by someone else" in answer.content.decode()
    assert run.lines.get().kits == 10


def test_a_reserved_run_is_not_changed(house: Store, planner: Client) -> None:
    run = house.reserved(10)
    answer = send(planner, "run-change", run.pk, form=filled(house, 16, version=run.version))
    assert answer.status_code == 422
    assert "Give its stock back first" in answer.content.decode()


def test_planning_is_closed_to_a_packer(house: Store, packer: Client) -> None:
    run = house.plan()
    assert packer.get(reverse("run-new")).status_code == 403
    assert send(packer, "run-new", form=filled(house)).status_code == 403
    assert send(packer, "run-change", run.pk, form=filled(house)).status_code == 403
    assert send(packer, "run-preview", form=filled(house)).status_code == 403


def test_there_is_no_run_to_change_and_no_page_to_preview(house: Store, planner: Client) -> None:
    assert planner.get(reverse("run-change", args=[404])).status_code == 404
    assert planner.get(reverse("run-preview")).status_code == 405
