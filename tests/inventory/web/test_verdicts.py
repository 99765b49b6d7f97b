"""A lot is released, held and rejected, each once that is confirmed."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from boxwort.roles import Role
from inventory.models import ItemKind, LotStatus, Reservation
from tests import make
from tests.inventory.web.conftest import Enter
from tests.visits import read, send, words_of

VERDICTS = [
    ("lot-release", LotStatus.QUARANTINE, LotStatus.RELEASED),
    ("lot-hold", LotStatus.RELEASED, LotStatus.ON_HOLD),
    ("lot-reject", LotStatus.RELEASED, LotStatus.REJECTED),
]
DOORS = [door for door, _, _ in VERDICTS]


@pytest.mark.parametrize(("door", "before", "after"), VERDICTS)
def test_a_verdict_is_given_with_its_reason(
    enter: Enter, door: str, before: LotStatus, after: LotStatus
) -> None:
    planner, lot = enter(Role.PLANNER), make.lot(status=before)
    assert f'value="{lot.version}"' in read(planner, door, lot.pk)
    answer = send(planner, door, lot.pk, version=lot.version, reason="smelt it")
    assert answer.status_code == 303
    lot.refresh_from_db()
    assert (lot.status, lot.status_reason) == (after, "smelt it")


def test_rejecting_names_the_work_that_loses_the_lot(owner: Client) -> None:
    lot = make.lot()
    make.reservation(make.conversion("RUN-7-01"), lot, 100)
    assert "RUN-7-01" in read(owner, "lot-reject", lot.pk)
    send(owner, "lot-reject", lot.pk, version=lot.version, reason="mouldy")
    assert Reservation.objects.get().ending == "lost"


def test_a_hop_without_a_certificate_is_released_with_a_caution(owner: Client) -> None:
    lot = make.lot(item=make.item("CASCADE", ItemKind.HOP), status=LotStatus.QUARANTINE)
    assert "no analysis" in read(owner, "lot-release", lot.pk)


@pytest.mark.parametrize("door", ["lot-hold", "lot-reject"])
def test_holding_and_rejecting_need_a_reason(owner: Client, door: str) -> None:
    lot = make.lot()
    answer = send(owner, door, lot.pk, version=lot.version, reason="")
    assert answer.status_code == 422
    lot.refresh_from_db()
    assert lot.status == LotStatus.RELEASED


def test_a_rejected_lot_is_never_released(owner: Client) -> None:
    lot = make.lot()
    send(owner, "lot-reject", lot.pk, version=lot.version, reason="mouldy")
    lot.refresh_from_db()
    answer = send(owner, "lot-release", lot.pk, version=lot.version)
    assert answer.status_code == 422
    assert "is rejected" in words_of(answer)


def test_who_judges_an_old_page_is_told(owner: Client) -> None:
    lot = make.lot()
    send(owner, "lot-hold", lot.pk, version=lot.version, reason="first")
    answer = send(owner, "lot-reject", lot.pk, version=lot.version, reason="second")
    assert answer.status_code == 409
    assert "changed by someone else" in words_of(answer)


@pytest.mark.parametrize("door", DOORS)
def test_a_packer_does_not_judge(enter: Enter, door: str) -> None:
    lot = make.lot()
    assert send(enter(Role.PACKER), door, lot.pk, version=1, reason="x").status_code == 403


@pytest.mark.parametrize("door", DOORS)
def test_a_lot_that_is_not_there_is_not_judged(owner: Client, door: str) -> None:
    assert send(owner, door, 999_999, version=1, reason="x").status_code == 404


@pytest.mark.parametrize("door", DOORS)
def test_a_verdict_is_not_deleted(owner: Client, door: str) -> None:
    assert owner.delete(reverse(door, args=[make.lot().pk])).status_code == 405
