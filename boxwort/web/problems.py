"""Errors of the API as problem documents (RFC 9457, ``application/problem+json``).

Members beside the standard ones: ``code`` (stable, for programs), ``remedy`` (what to do now),
``errors`` (one entry for each field that was refused, with a JSON pointer into the body) and
``facts`` (the figures behind a refusal).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from http import HTTPStatus
from typing import Any

from django.db.models import ProtectedError
from rest_framework.exceptions import ValidationError
from rest_framework.response import Response
from rest_framework.views import exception_handler

from boxwort.errors import Refusal
from boxwort.web.refusals import status_of, title_of

CONTENT_TYPE = "application/problem+json"
_REMEDIES = {
    HTTPStatus.BAD_REQUEST: "Correct the request and send it again.",
    HTTPStatus.UNAUTHORIZED: "Send 'Authorization: Token ...' with a token of your account.",
    HTTPStatus.FORBIDDEN: "Ask the owner to change your role.",
    HTTPStatus.NOT_FOUND: "Check the address and the ids in it.",
    HTTPStatus.METHOD_NOT_ALLOWED: "Use one of the methods in the Allow header.",
    HTTPStatus.NOT_ACCEPTABLE: "Ask for application/json.",
    HTTPStatus.UNSUPPORTED_MEDIA_TYPE: "Send the body as application/json.",
    HTTPStatus.TOO_MANY_REQUESTS: "Wait for the seconds in the Retry-After header.",
}


def document(
    *,
    status: HTTPStatus,
    detail: str,
    remedy: str,
    instance: str,
    code: str = "",
    title: str = "",
    more: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    """Return the members of a problem document; without a code it is a plain HTTP status."""
    return {
        "type": f"urn:problem-type:boxwort:{code}" if code else "about:blank",
        "title": title or status.phrase,
        "status": status.value,
        "detail": detail,
        "instance": instance,
        "code": code or status.phrase.lower().replace(" ", "-"),
        "remedy": remedy,
        **(more or {}),
    }


def problem(error: Exception, context: Mapping[str, Any]) -> Response | None:
    """Turn an error of an API operation into a problem document (EXCEPTION_HANDLER).

    Returns None for an error that is a fault of ours: Django then reports it and answers 500.
    """
    path = context["request"].path
    if isinstance(error, Refusal):
        return _response(_of_refusal(error, path))
    if isinstance(error, ProtectedError):
        return _response(_of_protection(error, path))
    standard = exception_handler(error, dict(context))
    if standard is None:
        return None
    status = HTTPStatus(standard.status_code)
    if isinstance(error, ValidationError):
        told = _of_validation(error, path)
    else:
        told = _of_status(status, standard.data, path)
    return _response(told, {name: standard[name] for name in standard.headers})


def _response(told: dict[str, Any], headers: Mapping[str, str] | None = None) -> Response:
    return Response(told, status=told["status"], headers=headers, content_type=CONTENT_TYPE)


def _of_refusal(refusal: Refusal, path: str) -> dict[str, Any]:
    return document(
        status=status_of(refusal),
        detail=refusal.what,
        remedy=refusal.remedy,
        instance=path,
        code=refusal.code,
        title=title_of(refusal.code),
        more={"facts": refusal.details} if refusal.details else None,
    )


def _of_protection(error: ProtectedError, path: str) -> dict[str, Any]:
    kinds = sorted({str(row._meta.verbose_name) for row in error.protected_objects})
    return document(
        status=HTTPStatus.CONFLICT,
        detail=f"Other records still stand on this one: {', '.join(kinds)}.",
        remedy="Leave it in place, or remove what stands on it first.",
        instance=path,
        code="still-in-use",
        title=title_of("still-in-use"),
    )


def _of_validation(error: ValidationError, path: str) -> dict[str, Any]:
    found = [{"pointer": where, "detail": what} for where, what in _pointed(error.detail, "#")]
    return document(
        status=HTTPStatus.BAD_REQUEST,
        detail=" ".join(f"{each['pointer']}: {each['detail']}" for each in found),
        remedy=_REMEDIES[HTTPStatus.BAD_REQUEST],
        instance=path,
        code="fields-refused",
        title=title_of("fields-refused"),
        more={"errors": found},
    )


def _of_status(status: HTTPStatus, data: Any, path: str) -> dict[str, Any]:
    said = data.get("detail", status.phrase) if isinstance(data, Mapping) else status.phrase
    return document(
        status=status,
        detail=str(said),
        remedy=_REMEDIES.get(status, "Correct the request and send it again."),
        instance=path,
    )


def _pointed(detail: Any, where: str) -> Iterator[tuple[str, str]]:
    """Yield each message with a JSON pointer to what it is about."""
    if isinstance(detail, Mapping):
        for name, inner in detail.items():
            step = "" if name == "non_field_errors" else f"/{name}"
            yield from _pointed(inner, where + step)
    elif isinstance(detail, list):
        for number, inner in enumerate(detail):
            nested = isinstance(inner, Mapping | list)
            yield from _pointed(inner, f"{where}/{number}" if nested else where)
    else:
        yield where, str(detail)
