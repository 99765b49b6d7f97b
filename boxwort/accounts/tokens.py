"""The token by which a program signs in for a person: one each, made and revoked by its person."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from rest_framework.authtoken.models import Token

from boxwort.accounts.models import User
from boxwort.accounts.services import service, write_history

ENDING = 4


@dataclass(frozen=True, kw_only=True)
class TokenRow:
    """What is shown of a token: never the whole of it."""

    ending: str
    made_at: datetime


def token_row(person: User) -> TokenRow | None:
    """Return what may be shown of a person's token, if they have one."""
    token = Token.objects.filter(user=person).first()
    return TokenRow(ending=token.key[-ENDING:], made_at=token.created) if token else None


@service
def make_token(*, by: User) -> str:
    """Make a person's token anew; the one before it opens nothing from now on."""
    Token.objects.filter(user=by).delete()
    token = Token.objects.create(user=by)
    write_history(by=by, thing=by, action="make token", after={"ending": token.key[-ENDING:]})
    return str(token.key)


@service
def standing_token(*, by: User) -> str:
    """Return a person's token, made now if there is none."""
    token = Token.objects.filter(user=by).first()
    return token.key if token else make_token(by=by)


@service
def revoke_token(*, by: User) -> None:
    """Take a person's token away."""
    revoked, _ = Token.objects.filter(user=by).delete()
    if revoked:
        write_history(by=by, thing=by, action="revoke token")
