"""The one error that services raise when they will not do a thing."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


class Refusal(Exception):  # noqa: N818 - a refusal is an answer, not a fault
    """Says what happened and what to do about it.

    Parameters
    ----------
    code: what is wrong, in lower-case words joined by hyphens ("lot-on-hold").
    what: one sentence saying what happened, with the names and figures concerned.
    remedy: one sentence saying what to do now.
    details: machine-readable facts for the API (plain JSON values).
    """

    def __init__(
        self, code: str, what: str, remedy: str, *, details: Mapping[str, Any] | None = None
    ) -> None:
        super().__init__(f"{what} {remedy}")
        self.code = code
        self.what = what
        self.remedy = remedy
        self.details = dict(details or {})
