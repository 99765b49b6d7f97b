"""A posting is taken back."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from boxwort.roles import Role
from inventory.models import Posting
from inventory.services.conversions import complete_conversion
from inventory.services.lots import move_lot
from tests import make
from tests.inventory.web.conftest import Enter
from tests.visits import read, send, words_of


def moved() -> Posting:
    """Return the posting that carried 400 of a lot of 1000 into the cold store."""
    return move_lot(
        by=make.user(),
        lot=make.lot("PALE-1"),
        quantity=400,
        from_place=make.place(),
        to_place=make.place("COLD"),
        occurred_on=make.TODAY,
        key=make.key(),
    )


def take_back(browser: Client, posting_id: int, **fields: Any) -> Any:
    return send(browser, "posting-reverse", posting_id, **{"reason": "wrong lot", **fields})


def test_a_posting_is_taken_back_with_a_reason(enter: Enter) -> None:
    planner, posting = enter(Role.PLANNER), moved()
    text = read(planner, "posting-reverse", posting.pk)
    assert "PALE-1" in text
    assert "both stay in the ledger" in text
    assert take_back(planner, posting.pk).status_code == 303
    lot = posting.moves.get().lot
    assert lot.balances.get(place__code="STORE").quantity == 1000
    assert "Taken back" in read(planner, "lot-detail", lot.pk)


def test_a_posting_is_taken_back_once(owner: Client) -> None:
    posting = moved()
    assert take_back(owner, posting.pk, key="once").status_code == 303
    assert take_back(owner, posting.pk, key="once").status_code == 303
    answer = take_back(owner, posting.pk)
    assert answer.status_code == 422
    assert "was reversed before" in words_of(answer)


def test_a_posting_is_not_taken_back_without_a_reason(owner: Client) -> None:
    posting = moved()
    assert take_back(owner, posting.pk, reason="").status_code == 422
    assert Posting.objects.filter(reverses=posting).count() == 0


@pytest.mark.parametrize("method", ["get", "post"])
def test_what_packing_posted_is_taken_back_with_the_packing(owner: Client, method: str) -> None:
    lot, work = make.lot(), make.conversion("RUN-7-01")
    make.reservation(work, lot, 100)
    complete_conversion(
        by=make.user(),
        conversion=work,
        used=[make.used(lot, 100)],
        output=make.output(),
        occurred_on=make.TODAY,
        key=make.key(),
    )
    door = reverse("posting-reverse", args=[work.postings.get().pk])
    answer = getattr(owner, method)(door)
    assert answer.status_code == 422
    assert "belongs to RUN-7-01" in words_of(answer)
    assert door not in read(owner, "lot-detail", lot.pk)


def test_a_packer_takes_no_posting_back(enter: Enter) -> None:
    assert take_back(enter(Role.PACKER), moved().pk).status_code == 403


def test_a_posting_that_is_not_there_is_not_found(owner: Client) -> None:
    assert take_back(owner, 999_999).status_code == 404


def test_a_posting_is_not_deleted(owner: Client) -> None:
    assert owner.delete(reverse("posting-reverse", args=[moved().pk])).status_code == 405
