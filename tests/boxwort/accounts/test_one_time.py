"""A one-time link signs one person in, once, for a quarter of an hour."""

from __future__ import annotations

import time
from urllib.parse import parse_qs, urlsplit

import pytest

from boxwort.accounts.models import User
from boxwort.accounts.one_time import (
    GOOD_FOR,
    make_one_time_link,
    one_time_user,
    spend_one_time_link,
)
from boxwort.accounts.people import change_password
from boxwort.accounts.queries import history_of
from boxwort.errors import Refusal


def token_for(user: User) -> str:
    return parse_qs(urlsplit(make_one_time_link(user)).query)["token"][0]


def refused(token: str) -> str:
    with pytest.raises(Refusal) as refusal:
        spend_one_time_link(token=token)
    return refusal.value.code


def test_a_link_names_its_person_and_works_once(planner: User) -> None:
    token = token_for(planner)
    assert one_time_user(token) == planner
    assert spend_one_time_link(token=token) == planner
    assert refused(token) == "one-time-link-spent"
    assert history_of("accounts.user", planner.pk)[0].action == "sign in by one-time link"


def test_a_link_grows_old(planner: User, monkeypatch: pytest.MonkeyPatch) -> None:
    token = token_for(planner)
    later = time.time() + GOOD_FOR.total_seconds() + 1
    monkeypatch.setattr("time.time", lambda: later)
    assert refused(token) == "one-time-link-spent"


def test_a_new_password_ends_every_link(planner: User) -> None:
    token = token_for(planner)
    change_password(by=planner, password="a wholly new phrase")
    assert refused(token) == "one-time-link-spent"


def test_a_link_for_somebody_who_left_is_refused(planner: User) -> None:
    token = token_for(planner)
    User.objects.filter(pk=planner.pk).update(is_active=False)
    assert refused(token) == "one-time-link-spent"


@pytest.mark.parametrize("token", ["", "1", "1.a:b:c", "\0"])
def test_an_invented_link_is_refused(db: None, token: str) -> None:
    assert refused(token) == "one-time-link-spent"


def test_a_link_cannot_be_rewritten_for_somebody_else(planner: User, packer: User) -> None:
    token = token_for(planner)
    assert refused(token.replace(f"{planner.pk}.", f"{packer.pk}.", 1)) == "one-time-link-spent"
