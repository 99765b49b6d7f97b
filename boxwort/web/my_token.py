"""A person's own API token: made, shown once, and revoked."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.views.decorators.cache import never_cache

from boxwort.accounts.tokens import make_token, revoke_token
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, onward, page
from boxwort.web.my_settings import shown


@never_cache
@page(Right.READ, methods=("POST",))
def my_token_make(request: SignedInRequest) -> HttpResponse:
    """Make a token, and show it this once: it is in no address, message or history."""
    return shown(request, token=make_token(by=request.user))


@page(Right.READ, methods=("POST",))
def my_token_revoke(request: SignedInRequest) -> HttpResponse:
    """Take the token away."""
    revoke_token(by=request.user)
    messages.success(request, "Your token is revoked; programs that used it are signed out.")
    return onward(request, "my-settings")
