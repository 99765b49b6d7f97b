"""Answers when a page will not or cannot do what was asked: never a traceback.

With htmx the answer is a fragment for the notice area, and the page keeps what was typed;
without it, a page of its own. Under the API it is a problem document.
"""

from __future__ import annotations

import logging
from http import HTTPStatus

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils.http import url_has_allowed_host_and_scheme
from django_htmx.http import retarget

from boxwort.errors import Refusal
from boxwort.web.doors import RightMissing, missing, remedy_for
from boxwort.web.problems import CONTENT_TYPE, document
from boxwort.web.refusals import status_of, title_of

API = "/api/"
NOTICE = "#notice"
log = logging.getLogger(__name__)


def answer(
    request: HttpRequest, *, status: HTTPStatus, title: str, what: str, remedy: str
) -> HttpResponse:
    """Say on a page, or in its notice area, what happened and what to do."""
    if request.path.startswith(API):
        return _problem(request, status, what, remedy)
    context = {"title": title, "what": what, "remedy": remedy, "back": _page_before(request)}
    if getattr(request, "htmx", False):
        fragment = render(request, "web/_failure.html", context, status=status)
        fragment["HX-Reswap"] = "innerHTML show:window:top"
        return retarget(fragment, NOTICE)
    return render(request, "web/failure.html", context, status=status)


def refused(request: HttpRequest, refusal: Refusal) -> HttpResponse:
    """Answer with a service's refusal."""
    return answer(
        request,
        status=status_of(refusal),
        title=title_of(refusal.code),
        what=refusal.what,
        remedy=refusal.remedy,
    )


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer a request that cannot be read (handler400)."""
    return answer(
        request,
        status=HTTPStatus.BAD_REQUEST,
        title="The request could not be read",
        what="The address or the form held something that this site cannot use.",
        remedy="Go back, load the page again and repeat what you did.",
    )


def forbidden(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer somebody without the right (handler403)."""
    title = "Your role does not hold this right"
    if isinstance(exception, RightMissing):
        what, remedy = missing(exception.right), remedy_for(exception.right)
    else:
        what, remedy = "This page is not open to you.", "Ask the owner to change your role."
    return answer(request, status=HTTPStatus.FORBIDDEN, title=title, what=what, remedy=remedy)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer for an address or a thing that does not exist (handler404)."""
    return answer(
        request,
        status=HTTPStatus.NOT_FOUND,
        title="Not found",
        what="There is nothing at this address; it may have been removed or mistyped.",
        remedy="Start again from the lists in the menu.",
    )


def not_this_way(request: HttpRequest, refused_by_door: HttpResponse) -> HttpResponse:
    """Answer a form's address opened as a page, or the other way round (405)."""
    told = answer(
        request,
        status=HTTPStatus.METHOD_NOT_ALLOWED,
        title="Nothing to show here",
        what="This address takes a form that was filled in; it is not a page to open.",
        remedy="Go to the page you came from and press its button again.",
    )
    told["Allow"] = refused_by_door["Allow"]
    return told


def csrf_failed(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Answer a form whose security token is missing or old (CSRF_FAILURE_VIEW)."""
    log.info("CSRF check failed: %s", reason)
    return answer(
        request,
        status=HTTPStatus.FORBIDDEN,
        title="This form has gone stale",
        what="The form was opened before you signed in again, or cookies are switched off.",
        remedy="Load the page again and repeat what you did. Nothing was changed.",
    )


def server_error(request: HttpRequest) -> HttpResponse:
    """Answer when the site itself failed (handler500); asks nothing of the database."""
    status = HTTPStatus.INTERNAL_SERVER_ERROR
    what = "Something went wrong on our side, and nothing was changed."
    remedy = "Try again; if it happens once more, tell the owner what you were doing and when."
    if request.path.startswith(API):
        return _problem(request, status, what, remedy)
    name = "web/_failure.html" if getattr(request, "htmx", False) else "web/500.html"
    context = {"title": "The site failed", "what": what, "remedy": remedy}
    return HttpResponse(render_to_string(name, context), status=status)


def _problem(request: HttpRequest, status: HTTPStatus, what: str, remedy: str) -> HttpResponse:
    told = document(status=status, detail=what, remedy=remedy, instance=request.path)
    return JsonResponse(told, status=status, content_type=CONTENT_TYPE)


def _page_before(request: HttpRequest) -> str:
    before = request.headers.get("Referer", "")
    here = {request.get_host()}
    return before if url_has_allowed_host_and_scheme(before, allowed_hosts=here) else ""
