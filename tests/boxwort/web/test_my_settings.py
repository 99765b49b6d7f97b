"""People choose their units and their password."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from boxwort.accounts.models import User
from boxwort.accounts.queries import history_of

OLD, NEW = "barley and a long morning", "oats and a short evening"


def test_units_are_changed_and_remembered(browser: Client, planner: User) -> None:
    answer = browser.post(reverse("my-units"), {"units": "us"}, follow=True)
    assert "Amounts are now shown in these units." in answer.content.decode()
    planner.refresh_from_db()
    assert planner.units == "us"
    [entry] = history_of("accounts.user", planner.pk)
    assert (entry.before, entry.after) == ({"units": "metric"}, {"units": "us"})


def test_units_nobody_reads_are_refused(browser: Client, planner: User) -> None:
    assert browser.post(reverse("my-units"), {"units": "stone"}).status_code == 422
    planner.refresh_from_db()
    assert planner.units == "metric"


@pytest.mark.parametrize(
    ("old", "new", "again", "status"),
    [
        (OLD, NEW, NEW, 303),
        ("wrong", NEW, NEW, 422),
        (OLD, NEW, "other", 422),
        (OLD, "1", "1", 422),
    ],
)
def test_a_password_is_changed_by_whoever_knows_it(
    client: Client, planner: User, old: str, new: str, again: str, status: int
) -> None:
    planner.set_password(OLD)
    planner.save()
    client.force_login(planner)
    form = {"old_password": old, "new_password1": new, "new_password2": again}
    assert client.post(reverse("my-password"), form).status_code == status
    planner.refresh_from_db()
    assert planner.check_password(NEW if status == 303 else OLD)
    assert client.get(reverse("my-settings")).status_code == 200


def test_the_history_of_a_password_holds_no_password(browser: Client, planner: User) -> None:
    planner.set_password(OLD)
    planner.save()
    browser.force_login(planner)
    form = {"old_password": OLD, "new_password1": NEW, "new_password2": NEW}
    browser.post(reverse("my-password"), form)
    [entry] = history_of("accounts.user", planner.pk)
    assert (entry.action, entry.before, entry.after) == ("change password", {}, {})
