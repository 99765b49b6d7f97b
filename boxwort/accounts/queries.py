"""Readings of the accounts room."""

from __future__ import annotations

from boxwort.accounts.fixed import HOUSE_USERNAME
from boxwort.accounts.models import History, SiteSettings, User


def site_settings() -> SiteSettings:
    """Return the site's one row of settings."""
    return SiteSettings.objects.get(pk=1)


def house_user() -> User:
    """Return the account that work without a person is written under."""
    return User.objects.get(username=HOUSE_USERNAME)


def history_of(thing: str, thing_id: int, most: int = 100) -> list[History]:
    """Return what was done to a row, newest first, each with its person."""
    rows = History.objects.filter(thing=thing, thing_id=thing_id)
    return list(rows.select_related("by")[:most])
