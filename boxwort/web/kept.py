"""Pages on which one thing is written: shown, checked, done once, and told."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict, dataclass
from http import HTTPStatus
from typing import Any, TypeVar

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render

from boxwort.web.doors import SignedInRequest, onward
from boxwort.web.submitting import submitted

F = TypeVar("F", bound=forms.Form)


@dataclass(frozen=True, kw_only=True)
class Words:
    """What the page says: ``thing`` is what it leads back to, at the address ``back``."""

    title: str
    thing: str
    back: str
    what: str
    button: str
    said: str
    danger: bool = False


def kept(
    request: SignedInRequest,
    make: Callable[..., F],
    write: Callable[[F], dict[str, Any]],
    words: Words,
) -> HttpResponse:
    """Show the form that ``make`` makes; once it is sent, do what it says and go back."""
    if request.method != "POST":
        return _shown(request, make(), words)
    form = make(request.POST)
    done = submitted(request, form, lambda: write(form))
    if done.answer is None:
        return _shown(request, form, words, status=done.status)
    messages.success(request, words.said)
    return onward(request, words.back)


def _shown(
    request: SignedInRequest, form: forms.Form, words: Words, *, status: int = HTTPStatus.OK
) -> HttpResponse:
    return render(request, "web/act.html", {**asdict(words), "form": form}, status=status)
