"""A person's act is done whole, once, and is remembered."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import OperationalError

from boxwort.accounts.models import Request, SiteSettings, User
from boxwort.accounts.queries import history_of, site_settings
from boxwort.accounts.services import (
    TRIES,
    answer_once,
    change_version,
    fingerprint,
    in_one_transaction,
    service,
)
from boxwort.errors import Refusal


class Work:
    """Work that counts how often it is done, and can fail the first few times."""

    def __init__(self, failures: list[Exception] | None = None) -> None:
        self.failures = list(failures or [])
        self.done = 0

    def __call__(self) -> dict[str, Any]:
        self.done += 1
        if self.failures:
            raise self.failures.pop(0)
        return {"lot": 7, "done": self.done}


class DriverError(Exception):
    def __init__(self, sqlstate: str) -> None:
        super().__init__(sqlstate)
        self.sqlstate = sqlstate


def database_error(sqlstate: str) -> OperationalError:
    problem = OperationalError("as told by the driver")
    problem.__cause__ = DriverError(sqlstate)
    return problem


@pytest.fixture
def waits(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """Record the pauses between tries and take none of them."""
    taken: list[float] = []
    monkeypatch.setattr("time.sleep", taken.append)
    return taken


def test_the_same_request_twice_is_done_once_and_answered_twice(planner: User) -> None:
    work = Work()
    first = answer_once(by=planner, key="k1", payload={"grams": 5}, work=work)
    again = answer_once(by=planner, key="k1", payload={"grams": 5}, work=work)
    assert first == again == {"lot": 7, "done": 1}
    assert work.done == 1


def test_a_key_cannot_be_used_for_another_request(planner: User) -> None:
    work = Work()
    answer_once(by=planner, key="k1", payload={"grams": 5}, work=work)
    with pytest.raises(Refusal) as refusal:
        answer_once(by=planner, key="k1", payload={"grams": 6}, work=work)
    assert refusal.value.code == "key-used-for-another-request"
    assert work.done == 1


def test_two_people_may_choose_the_same_key(planner: User, packer: User) -> None:
    work = Work()
    answer_once(by=planner, key="k1", payload={}, work=work)
    answer_once(by=packer, key="k1", payload={}, work=work)
    assert work.done == 2


def test_a_refused_request_leaves_its_key_unused(planner: User) -> None:
    work = Work([Refusal("lot-on-hold", "The lot is on hold.", "Release it.")])
    with pytest.raises(Refusal):
        answer_once(by=planner, key="k1", payload={}, work=work)
    assert not Request.objects.exists()
    assert answer_once(by=planner, key="k1", payload={}, work=work)["done"] == 2


def test_the_order_of_a_payload_does_not_matter() -> None:
    assert fingerprint({"a": 1, "b": [2, 3]}) == fingerprint({"b": [2, 3], "a": 1})
    assert fingerprint({"a": 1, "b": [2, 3]}) != fingerprint({"a": 1, "b": [3, 2]})


def test_a_change_moves_the_version_on_and_is_remembered(planner: User) -> None:
    settings = site_settings()
    change_version(
        by=planner, thing=settings, expected=1, action="rename", changes={"producer": "Fernhollow"}
    )
    kept = site_settings()
    assert (kept.producer, kept.version) == ("Fernhollow", 2)
    assert (settings.producer, settings.version) == ("Fernhollow", 2)
    [entry] = history_of("accounts.sitesettings", settings.pk)
    assert entry.by == planner
    assert entry.before == {"producer": "My kit works"}
    assert entry.after == {"producer": "Fernhollow"}


def test_the_second_of_two_people_who_start_from_one_version_is_refused(
    planner: User, packer: User
) -> None:
    ours, theirs = site_settings(), site_settings()
    change_version(
        by=planner, thing=ours, expected=1, action="rename", changes={"producer": "Ours"}
    )
    with pytest.raises(Refusal) as refusal:
        change_version(
            by=packer, thing=theirs, expected=1, action="rename", changes={"producer": "Theirs"}
        )
    assert refusal.value.code == "changed-by-someone-else"
    assert site_settings().producer == "Ours"
    assert theirs.version == 1


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("sqlstate", ["40001", "40P01"])
def test_a_deadlock_is_tried_again(waits: list[float], sqlstate: str) -> None:
    work = Work([database_error(sqlstate), database_error(sqlstate)])
    assert in_one_transaction(work)["done"] == 3
    assert waits == sorted(waits)
    assert len(waits) == 2


@pytest.mark.django_db(transaction=True)
def test_a_deadlock_that_stays_is_given_up(waits: list[float]) -> None:
    work = Work([database_error("40P01")] * TRIES)
    with pytest.raises(OperationalError):
        in_one_transaction(work)
    assert work.done == TRIES


@pytest.mark.django_db(transaction=True)
def test_another_fault_of_the_database_is_not_tried_again(waits: list[float]) -> None:
    work = Work([database_error("57014")])
    with pytest.raises(OperationalError):
        in_one_transaction(work)
    assert (work.done, waits) == (1, [])


@pytest.mark.django_db(transaction=True)
def test_only_the_outermost_transaction_tries_again(waits: list[float]) -> None:
    inner = Work([database_error("40P01")])
    outer = Work()

    def both() -> dict[str, Any]:
        outer()
        return in_one_transaction(inner)

    in_one_transaction(both)
    assert (outer.done, inner.done) == (2, 2)
    assert len(waits) == 1


@pytest.mark.django_db(transaction=True)
def test_a_service_that_fails_leaves_nothing_behind() -> None:
    @service
    def rename_and_fail(*, by: User) -> None:
        SiteSettings.objects.update(producer="Half done")
        raise Refusal("name-taken", "The name is taken.", "Choose another.")

    with pytest.raises(Refusal):
        rename_and_fail(by=User())
    assert site_settings().producer == "My kit works"


@pytest.mark.django_db(transaction=True)
def test_a_service_that_fails_inside_another_undoes_the_whole() -> None:
    @service
    def refuse() -> None:
        SiteSettings.objects.update(producer="Inner")
        raise Refusal("name-taken", "The name is taken.", "Choose another.")

    @service
    def rename_and_ask() -> None:
        SiteSettings.objects.update(producer="Outer")
        refuse()

    with pytest.raises(Refusal):
        rename_and_ask()
    assert site_settings().producer == "My kit works"


@pytest.mark.django_db(transaction=True)
def test_a_caller_that_answers_a_refusal_keeps_its_own_part() -> None:
    @service
    def refuse() -> None:
        SiteSettings.objects.update(currency="XXX")
        raise Refusal("name-taken", "The name is taken.", "Choose another.")

    @service
    def rename_and_ask() -> None:
        SiteSettings.objects.update(producer="Outer")
        with pytest.raises(Refusal):
            refuse()

    rename_and_ask()
    assert (site_settings().producer, site_settings().currency) == ("Outer", "USD")
