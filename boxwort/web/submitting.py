"""A form that was sent: checked, done once, and shown again with what was wrong with it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any

from django import forms

from boxwort.accounts.services import plain
from boxwort.errors import Refusal
from boxwort.web.doors import SignedInRequest, answered
from boxwort.web.refusals import status_of


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What came of a form: the answer of the work, or None and the status to show it with."""

    answer: dict[str, Any] | None
    status: int


def submitted(
    request: SignedInRequest,
    form: forms.Form,
    work: Callable[[], dict[str, Any]],
    payload: Callable[[], dict[str, Any]] | None = None,
) -> Outcome:
    """Do what a valid form asks, once however often it arrives; put a refusal on the form.

    ``payload`` is what was asked where the form has more boxes than its own.
    """
    if not form.is_valid():
        return Outcome(answer=None, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    try:
        asked = form.cleaned_data if payload is None else payload()
        answer = answered(request, plain(asked), work)
    except Refusal as refusal:
        form.add_error(None, f"{refusal.what} {refusal.remedy}")
        return Outcome(answer=None, status=status_of(refusal))
    return Outcome(answer=answer, status=HTTPStatus.OK)
