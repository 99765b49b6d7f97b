"""Doors: what lets a request in to a page or an API operation.

A page is a function under :func:`page`; an API view or viewset declares ``right`` for all it
does, or ``rights_by_action`` (viewsets) or ``rights_by_method`` (views) for each thing. A door
that declares nothing is closed to everybody. ``LoginRequiredMiddleware`` and DRF's
authentication have settled *who* is asking before a door is reached; a door settles *may they*.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import wraps
from typing import TYPE_CHECKING, Any, Concatenate, ParamSpec, cast

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import resolve_url
from django.views.decorators.http import require_http_methods
from django_htmx.http import HttpResponseClientRedirect
from django_htmx.middleware import HtmxDetails
from rest_framework.permissions import BasePermission
from rest_framework.request import Request as ApiRequest

from boxwort.accounts.models import User
from boxwort.accounts.services import answer_once
from boxwort.roles import ROLES_WITH, Right
from boxwort.web.keys import key_of

if TYPE_CHECKING:  # rest_framework.views loads this module by name, as the default permission
    from rest_framework.views import APIView

P = ParamSpec("P")


class SignedInRequest(HttpRequest):
    """The request a page sees: somebody is signed in, and htmx has been recognised."""

    user: User
    htmx: HtmxDetails


Page = Callable[Concatenate[SignedInRequest, P], HttpResponse]


class RightMissing(PermissionDenied):
    """The person who asked does not hold the right that the door names."""

    def __init__(self, right: Right) -> None:
        super().__init__(f"{missing(right)} {remedy_for(right)}")
        self.right = right


def page(right: Right, methods: tuple[str, ...] = ("GET",)) -> Callable[[Page[P]], Page[P]]:
    """Make a function the door of a page (or fragment) for people who hold ``right``."""
    allowed = [*methods, "HEAD"] if "GET" in methods else [*methods]

    def decorate(view: Page[P]) -> Page[P]:
        @wraps(view)
        def door(request: SignedInRequest, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            if not request.user.may(right):
                raise RightMissing(right)
            return view(request, *args, **kwargs)

        guarded = require_http_methods(allowed)(door)
        vars(guarded).update(right=right, methods=tuple(methods))
        return cast("Page[P]", guarded)

    return decorate


def missing(right: Right) -> str:
    """Return the sentence that names a right a person does not hold."""
    return f"This needs the right “{right.replace('-', ' ')}”, which your role does not hold."


def remedy_for(right: Right) -> str:
    """Return the sentence that says whom to ask for a right."""
    holders = sorted(ROLES_WITH[right])
    named = " or ".join([", ".join(holders[:-1]), holders[-1]] if holders[1:] else holders)
    return f"Ask the {named} to do it, or the owner to change your role."


def answered(
    request: SignedInRequest | ApiRequest,
    payload: Mapping[str, Any],
    work: Callable[[], dict[str, Any]],
) -> dict[str, Any]:
    """Do the work of a request once, however often its request key arrives.

    ``payload`` is what was asked for, without the key; the path is added to it, so that a key
    cannot be carried from one door to another. ``work`` returns plain JSON values.
    """
    asked = {"path": request.path, "asked": dict(payload)}
    by = cast("User", request.user)
    return answer_once(by=by, key=key_of(request), payload=asked, work=work)


def onward(request: SignedInRequest, to: object, *args: object, **kwargs: object) -> HttpResponse:
    """Send the whole page on after a form did its work, with htmx or without."""
    url = resolve_url(cast("Any", to), *args, **kwargs)
    if request.htmx:
        return HttpResponseClientRedirect(url)
    response = HttpResponseRedirect(url)
    response.status_code = 303
    return response


class HasRight(BasePermission):
    """Lets a person in to an API operation if they hold the right it declares."""

    message = "This operation declares no right, so it is closed."

    def has_permission(self, request: ApiRequest, view: APIView) -> bool:
        """Return whether the person who asks holds the right of the operation."""
        right = right_of(view, str(request.method), getattr(view, "action", None))
        if right is None or not isinstance(request.user, User):
            return False
        self.message = f"{missing(right)} {remedy_for(right)}"
        return request.user.may(right)


def right_of(view: object, method: str, action: str | None = None) -> Right | None:
    """Return the right an API view declares for a method, or None if it declares none."""
    if method == "OPTIONS":
        return Right.READ
    method = "GET" if method == "HEAD" else method
    by_action: Mapping[str, Right] = getattr(view, "rights_by_action", {})
    by_method: Mapping[str, Right] = getattr(view, "rights_by_method", {})
    if action is not None and action in by_action:
        return by_action[action]
    return by_method.get(method) or getattr(view, "right", None)
