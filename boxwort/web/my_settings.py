"""A person's own settings: the units they read, their password, and their API token."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.forms import PasswordChangeForm
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.debug import sensitive_post_parameters

from boxwort.accounts.models import UNIT_CHOICES
from boxwort.accounts.people import change_password, change_units
from boxwort.accounts.tokens import token_row
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, onward, page


class UnitsForm(forms.Form):
    """The units a person reads."""

    units = forms.ChoiceField(choices=UNIT_CHOICES, widget=forms.RadioSelect, label="I read")


class PasswordForm(PasswordChangeForm):
    """The change of password as one form among others: it does not take the focus."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["old_password"].widget.attrs["autofocus"]


@page(Right.READ)
def my_settings(request: SignedInRequest) -> HttpResponse:
    """Show a person's own settings."""
    return shown(request)


@page(Right.READ, methods=("POST",))
def my_units(request: SignedInRequest) -> HttpResponse:
    """Change the units a person reads."""
    form = UnitsForm(request.POST)
    if not form.is_valid():
        return shown(request, units=form)
    change_units(by=request.user, units=form.cleaned_data["units"])
    messages.success(request, "Amounts are now shown in these units.")
    return onward(request, "my-settings")


@sensitive_post_parameters()
@page(Right.READ, methods=("POST",))
def my_password(request: SignedInRequest) -> HttpResponse:
    """Change a person's password; they stay signed in here and are signed out elsewhere."""
    form = PasswordForm(request.user, request.POST)
    if not form.is_valid():
        return shown(request, password=form)
    change_password(by=request.user, password=form.cleaned_data["new_password1"])
    update_session_auth_hash(request, request.user)
    messages.success(request, "Your password is changed.")
    return onward(request, "my-settings")


def shown(
    request: SignedInRequest,
    units: UnitsForm | None = None,
    password: PasswordForm | None = None,
    token: str = "",
) -> HttpResponse:
    """Return the page, with a form that was refused or a token that was just made."""
    wrong = units is not None or password is not None
    context = {
        "units_form": units or UnitsForm(initial={"units": request.user.units}),
        "password_form": password or PasswordForm(request.user),
        "token": token,
        "token_kept": token_row(request.user),
    }
    return render(request, "web/my_settings.html", context, status=422 if wrong else 200)
