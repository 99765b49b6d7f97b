"""Fixed rows that the house cannot stand without, laid after every migrate (and flush)."""

from __future__ import annotations

from typing import Any

HOUSE_USERNAME = "boxwort"


def lay_fixed_rows(using: str, **_: Any) -> None:
    """Make the settings row and the account that background work is written under."""
    from boxwort.accounts.models import SiteSettings, User

    SiteSettings.objects.using(using).get_or_create(pk=1)
    house, made = User.objects.using(using).get_or_create(
        username=HOUSE_USERNAME, defaults={"is_active": False, "first_name": "Boxwort"}
    )
    if made:
        house.set_unusable_password()
        house.save(using=using, update_fields=["password"])
