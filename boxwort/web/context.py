"""What every template may use: the menu for this person, and the site's settings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest
from django.urls import reverse
from django.utils.functional import SimpleLazyObject

from boxwort.accounts.models import User
from boxwort.accounts.queries import site_settings
from boxwort.roles import Right

#: Label, URL name, and the right that shows it.
MENU: tuple[tuple[str, str, Right], ...] = (
    ("Today", "today", Right.READ),
    ("Lots", "lot-list", Right.READ),
    ("Conversions", "conversion-list", Right.READ),
    ("Items", "item-list", Right.READ),
    ("Recipes", "recipe-list", Right.READ),
    ("Kits", "kit-list", Right.READ),
    ("Runs", "run-list", Right.READ),
    ("Proposals", "proposal-list", Right.READ),
    ("Purchase list", "purchase-list", Right.READ),
    ("Yeast", "yeast-list", Right.READ),
    ("Jobs", "job-list", Right.READ),
    ("Import", "import-new", Right.IMPORT_WORKBOOK),
    ("House", "house-settings", Right.KEEP_HOUSE),
)
#: The place in the menu that a page belongs to whose address starts with a word of its own.
_BELONGS = {
    "revisions": "recipe-list",
    "methods": "recipe-list",
    "substitutes": "recipe-list",
    "trials": "recipe-list",
    "styles": "recipe-list",
    "batches": "run-list",
    "sheets": "run-list",
    "postings": "lot-list",
}


@dataclass(frozen=True, kw_only=True)
class MenuEntry:
    """One place in the menu; ``current`` where the page shown belongs to it."""

    label: str
    url: str
    current: bool


def shell(request: HttpRequest) -> dict[str, Any]:
    """Return what the frame of every page needs (a context processor)."""
    user = getattr(request, "user", None)
    menu = menu_for(user, request.path) if isinstance(user, User) else []
    return {"menu": menu, "site": SimpleLazyObject(site_settings)}


def menu_for(user: User, path: str) -> list[MenuEntry]:
    """Return the places this person may go; "Today" is at the root, so it matches only itself."""
    belongs = _BELONGS.get(path.strip("/").partition("/")[0])
    entries = []
    for label, name, right in MENU:
        if user.may(right):
            url = reverse(name)
            current = name == belongs or path == url or (url != "/" and path.startswith(url))
            entries.append(MenuEntry(label=label, url=url, current=current))
    return entries
