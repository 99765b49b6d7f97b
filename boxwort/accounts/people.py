"""What people change about their own account."""

from __future__ import annotations

from boxwort.accounts.models import UNIT_CHOICES, User
from boxwort.accounts.services import service, write_history
from boxwort.errors import Refusal


@service
def change_units(*, by: User, units: str) -> None:
    """Change the units a person reads amounts in."""
    if units not in dict(UNIT_CHOICES):
        raise Refusal(
            "units-not-known",
            f"Nobody here reads amounts in {units!r}.",
            f"Choose one of: {', '.join(dict(UNIT_CHOICES))}.",
        )
    before = by.units
    by.units = units
    by.save(update_fields=["units"])
    write_history(
        by=by, thing=by, action="change units", before={"units": before}, after={"units": units}
    )


@service
def change_password(*, by: User, password: str) -> None:
    """Change a person's own password; the history says that it was changed, not what to."""
    by.set_password(password)
    by.save(update_fields=["password"])
    write_history(by=by, thing=by, action="change password")
