"""A run is reserved, given back, packed, closed or cancelled from its page."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Reservation
from planning.models import Run, RunState
from tests.planning.make import Store
from tests.planning.web.asking import send, text_of

ACTS = ("run-reserve", "run-give-back", "run-start", "run-close", "run-cancel")


def state_of(run: Run) -> str:
    run.refresh_from_db()
    return run.state


def test_reserving_holds_the_stock_once_however_often_the_button_is_pressed(
    house: Store, planner: Client
) -> None:
    run = house.plan(10)
    for _ in range(2):
        answer = send(planner, "run-reserve", run.pk, form={"version": run.version}, key="once")
        assert answer.headers["Location"] == reverse("run-detail", args=[run.pk])
    assert state_of(run) == RunState.RESERVED
    assert run.lines.get().batches.count() == 1


def test_a_run_that_is_short_is_refused_with_what_is_possible(
    house: Store, planner: Client
) -> None:
    run = house.plan(1000)
    answer = send(planner, "run-reserve", run.pk, form={"version": run.version})
    assert answer.status_code == 422
    text = answer.content.decode()
    assert "short" in text
    assert "Possible now" in text
    assert state_of(run) == RunState.PLANNED
    assert not Reservation.objects.exists()


def test_an_old_page_does_not_reserve(house: Store, planner: Client) -> None:
    run = house.plan(10)
    assert send(planner, "run-reserve", run.pk, form={"version": 7}).status_code == 409
    assert send(planner, "run-reserve", run.pk, form={"version": "x"}).status_code == 409
    assert state_of(run) == RunState.PLANNED


@pytest.mark.parametrize("name", ["run-give-back", "run-close", "run-cancel"])
def test_what_cannot_be_taken_back_is_asked_first(house: Store, planner: Client, name: str) -> None:
    run = house.reserved(10)
    text = text_of(planner, name, run.pk)
    assert f'name="version" value="{run.version}"' in text
    assert state_of(run) == RunState.RESERVED


def test_giving_back_frees_the_stock(house: Store, planner: Client) -> None:
    run = house.reserved(10)
    send(planner, "run-give-back", run.pk, form={"version": run.version})
    assert state_of(run) == RunState.PLANNED
    assert not Reservation.objects.filter(ended_at=None).exists()
    assert "given back or undone" in text_of(planner, "run-detail", run.pk)


def test_cancelling_keeps_the_reason_on_the_sheet(house: Store, planner: Client) -> None:
    run = house.reserved(10)
    send(planner, "run-cancel", run.pk, form={"version": run.version, "reason": "no boxes"})
    assert state_of(run) == RunState.CANCELLED
    assert "no boxes" in text_of(planner, "run-detail", run.pk)


def test_a_packer_starts_packing_and_nothing_packed_is_not_closed(
    house: Store, packer: Client
) -> None:
    run = house.reserved(10)
    send(packer, "run-start", run.pk, form={"version": run.version})
    assert state_of(run) == RunState.PACKING
    answer = send(packer, "run-close", run.pk, form={"version": run.version})
    assert answer.status_code == 422
    assert "No batch" in answer.content.decode()


def test_a_packer_neither_reserves_nor_gives_back_nor_cancels(house: Store, packer: Client) -> None:
    run = house.plan()
    form = {"version": run.version}
    for name in ("run-reserve", "run-give-back", "run-cancel"):
        assert send(packer, name, run.pk, form=form).status_code == 403
    assert reverse("run-reserve", args=[run.pk]) not in text_of(packer, "run-detail", run.pk)


@pytest.mark.parametrize("name", ACTS)
def test_nothing_is_done_to_a_run_that_is_not_there(
    house: Store, planner: Client, name: str
) -> None:
    assert send(planner, name, 404, form={"version": 1}).status_code == 404


@pytest.mark.parametrize("name", ["run-reserve", "run-start"])
def test_an_act_is_not_a_page(house: Store, planner: Client, name: str) -> None:
    assert planner.get(reverse(name, args=[house.plan().pk])).status_code == 405
