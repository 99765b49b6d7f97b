"""Accounts: making one, giving it a role, and what people change about their own."""

from __future__ import annotations

from django.core.exceptions import ValidationError

from boxwort.accounts.models import UNIT_CHOICES, User
from boxwort.accounts.services import service, write_history
from boxwort.accounts.tokens import revoke_token
from boxwort.errors import Refusal
from boxwort.roles import Role


@service
def add_person(*, by: User, username: str, role: str, name: str = "") -> User:
    """Make an account without a password: its owner signs in by a one-time link and sets one.

    Raises
    ------
    Refusal: ``role-not-known``, or ``username-unusable`` when it is taken or badly formed.
    """
    if role not in set(Role):
        raise Refusal(
            "role-not-known",
            f"There is no role {role!r}.",
            f"Choose one of: {', '.join(Role)}.",
        )
    first, _, last = name.partition(" ")
    person = User(username=username, role=role, first_name=first, last_name=last)
    person.set_unusable_password()
    try:
        person.full_clean()
    except ValidationError as problem:
        raise Refusal(
            "username-unusable",
            f"{username!r} cannot be added: {' '.join(problem.messages)}",
            "Choose another name to sign in with.",
        ) from None
    person.save()
    write_history(by=by, thing=person, action="add person", after={"role": role})
    return person


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
    """Change a person's own password; the history says that it was changed, not what to.

    Whoever knew the old one may have taken a token with it, so that opens nothing from now on.
    """
    by.set_password(password)
    by.save(update_fields=["password"])
    write_history(by=by, thing=by, action="change password")
    revoke_token(by=by)
