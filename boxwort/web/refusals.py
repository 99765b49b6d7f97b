"""Which HTTP status a refusal is answered with, on pages and in the API."""

from __future__ import annotations

from http import HTTPStatus

from boxwort.errors import Refusal

_STATUSES = {
    "changed-by-someone-else": HTTPStatus.CONFLICT,
    "request-key-missing": HTTPStatus.BAD_REQUEST,
    "request-key-unusable": HTTPStatus.BAD_REQUEST,
    "sign-in-refused": HTTPStatus.FORBIDDEN,
    "sign-in-locked": HTTPStatus.TOO_MANY_REQUESTS,
}


def status_of(refusal: Refusal) -> HTTPStatus:
    """Return the status: 404 for what is not there, 409 for a lost race, 422 for all else."""
    if refusal.code.endswith("-not-found"):
        return HTTPStatus.NOT_FOUND
    return _STATUSES.get(refusal.code, HTTPStatus.UNPROCESSABLE_ENTITY)


def title_of(code: str) -> str:
    """Return a refusal's code as a short heading ("Lot on hold")."""
    return code.replace("-", " ").capitalize()
