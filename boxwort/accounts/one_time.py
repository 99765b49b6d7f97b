"""A link that signs one person in, once, within a quarter of an hour.

The link carries a signed token and nothing is stored. The token is bound to the password hash
and to the time of the last sign-in: using it, signing in any other way, or changing the password
makes it worthless. It travels in the query string, which neither Django nor the sign-in guard
writes to a log.
"""

from __future__ import annotations

from datetime import timedelta

from django.core.signing import BadSignature, TimestampSigner
from django.urls import reverse
from django.utils import timezone
from django.utils.crypto import constant_time_compare, salted_hmac
from django.utils.http import urlencode

from boxwort.accounts.models import User
from boxwort.accounts.services import service, write_history
from boxwort.errors import Refusal

GOOD_FOR = timedelta(minutes=15)
_SALT = "boxwort.accounts.one_time"


def make_one_time_link(user: User) -> str:
    """Return the path and query of a page that signs this person in once."""
    token = TimestampSigner(salt=_SALT).sign(f"{user.pk}.{_state_of(user)}")
    return f"{reverse('one-time-sign-in')}?{urlencode({'token': token})}"


def one_time_user(token: str) -> User:
    """Return the person a link is for, if it can still be used.

    Raises
    ------
    Refusal: ``one-time-link-spent`` when it was used, is too old or was altered.
    """
    try:
        signed = TimestampSigner(salt=_SALT).unsign(token, max_age=GOOD_FOR)
    except BadSignature:
        raise _spent() from None
    number, _, state = signed.partition(".")
    user = User.objects.filter(pk=int(number), is_active=True).first()
    if user is None or not constant_time_compare(state, _state_of(user)):
        raise _spent()
    return user


@service
def spend_one_time_link(*, token: str) -> User:
    """Use a link up and return the person to sign in; of two uses at once, one is refused."""
    user = one_time_user(token)
    unused = User.objects.filter(pk=user.pk, last_login=user.last_login)
    if not unused.update(last_login=timezone.now()):
        raise _spent()
    write_history(by=user, thing=user, action="sign in by one-time link")
    user.refresh_from_db()
    return user


def _state_of(user: User) -> str:
    seen = user.last_login.isoformat() if user.last_login else ""
    return salted_hmac(_SALT, f"{user.password}|{seen}", algorithm="sha256").hexdigest()


def _spent() -> Refusal:
    return Refusal(
        "one-time-link-spent",
        "This link has been used already, or is more than a quarter of an hour old.",
        "Sign in with your name and password, or ask for a new link.",
    )
