"""What people change about their own account."""

from __future__ import annotations

from boxwort.accounts.models import User
from boxwort.accounts.services import service, write_history


@service
def change_units(*, by: User, units: str) -> None:
    """Change the units a person reads amounts in."""
    before = by.units
    by.units = units
    by.full_clean(validate_unique=False)
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
