"""Walks the address book: every door of the site, with an address that can be asked for."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver

from boxwort.roles import Right
from boxwort.web.doors import right_of

PUBLIC = {
    "sign-in",
    "sign-out",
    "one-time-sign-in",
    "health-live",
    "health-ready",
    "api-token",
}
_SAMPLES = {
    "int": "999999999",
    "str": "nothing",
    "slug": "nothing",
    "path": "nothing",
    "uuid": "00000000-0000-4000-8000-000000000000",
}
_PART = re.compile(r"<(?:(?P<kind>\w+):)?\w+>")


@dataclass(frozen=True, kw_only=True)
class Door:
    """One address: its name, a sample of it, and the right each of its methods asks for."""

    name: str
    url: str
    names_a_thing: bool
    is_api: bool
    view: Callable[..., Any] = field(repr=False, compare=False)

    @property
    def is_public(self) -> bool:
        return self.name in PUBLIC

    @property
    def rights(self) -> dict[str, Right | None]:
        """Return the right by HTTP method, None for a method that declares none."""
        if not self.is_api:
            methods = getattr(self.view, "methods", ("GET",))
            return dict.fromkeys(methods, getattr(self.view, "right", None))
        view: Any = self.view
        actions: dict[str, str] = getattr(view, "actions", None) or {
            method: "" for method in view.cls.http_method_names if hasattr(view.cls, method)
        }
        return {
            method.upper(): right_of(view.cls, method.upper(), action or None)
            for method, action in actions.items()
            if method not in {"options", "head"}
        }


def doors() -> list[Door]:
    """Return every door of the site, in the order of the address book."""
    return list(_walked(get_resolver().url_patterns, "/"))


def _walked(patterns: list[URLPattern | URLResolver], before: str) -> Iterator[Door]:
    for entry in patterns:
        route = before + str(entry.pattern)
        if isinstance(entry, URLResolver):
            yield from _walked(entry.url_patterns, route)
        else:
            yield Door(
                name=entry.name or route,
                url=_PART.sub(lambda part: _SAMPLES[part["kind"] or "str"], route),
                names_a_thing="<int:" in route,
                is_api=hasattr(entry.callback, "cls"),
                view=entry.callback,
            )
