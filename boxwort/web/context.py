"""What every template may use: the menu for this person, and the site's settings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

from django.http import HttpRequest
from django.urls import reverse
from django.utils.functional import SimpleLazyObject

from boxwort.accounts.models import User
from boxwort.accounts.queries import site_settings
from boxwort.roles import Right


class Place(NamedTuple):
    """A place in the menu: the area of the house it is in, and the right that shows it."""

    area: str
    label: str
    name: str
    right: Right


#: The areas stand in the order of their first places; an area's link leads to its first place.
MENU = (
    Place("Today", "Today", "today", Right.READ),
    Place("Stock", "Lots", "lot-list", Right.READ),
    Place("Stock", "Conversions", "conversion-list", Right.READ),
    Place("Stock", "Items", "item-list", Right.READ),
    Place("Stock", "Yeast", "yeast-list", Right.READ),
    Place("Recipes", "Recipes", "recipe-list", Right.READ),
    Place("Recipes", "Kits", "kit-list", Right.READ),
    Place("Plan", "Orders", "customer-order-list", Right.READ),
    Place("Plan", "Demand", "demand-list", Right.READ),
    Place("Plan", "Plan", "plan-detail", Right.READ),
    Place("Plan", "Cover", "cover-list", Right.READ),
    Place("Plan", "Mix", "mix", Right.READ),
    Place("Plan", "What-if", "what-if-list", Right.READ),
    Place("Pack", "Runs", "run-list", Right.READ),
    Place("Pack", "Allocation", "allocation-board", Right.READ),
    Place("Pack", "Proposals", "proposal-list", Right.READ),
    Place("Buy", "Purchase list", "purchase-list", Right.READ),
    Place("Buy", "Purchase orders", "order-list", Right.READ),
    Place("Buy", "Suppliers", "supplier-list", Right.READ),
    Place("Buy", "Kit costs", "kit-cost-list", Right.READ),
    Place("Send", "Dispatch", "dispatch-board", Right.READ),
    Place("Send", "Zones", "zone-list", Right.READ),
    Place("House", "Jobs", "job-list", Right.READ),
    Place("House", "Import", "import-new", Right.IMPORT_WORKBOOK),
    Place("House", "House rules", "house-settings", Right.KEEP_HOUSE),
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
    "receipts": "order-list",
    "dispatches": "dispatch-board",
    "offers": "supplier-list",
    "contracts": "supplier-list",
    "crops": "item-list",
}


@dataclass(frozen=True, kw_only=True)
class MenuEntry:
    """One place in the menu; ``current`` where the page shown belongs to it."""

    label: str
    url: str
    current: bool


@dataclass(frozen=True, kw_only=True)
class MenuArea:
    """One area of the house with the places in it that this person may go to."""

    label: str
    places: tuple[MenuEntry, ...]

    @property
    def url(self) -> str:
        """The address of its first place."""
        return self.places[0].url

    @property
    def current(self) -> bool:
        """Whether the page shown belongs to it."""
        return any(place.current for place in self.places)

    @property
    def opened(self) -> bool:
        """Whether its places are shown: it is where the person is, and there is a choice."""
        return self.current and len(self.places) > 1


def shell(request: HttpRequest) -> dict[str, Any]:
    """Return what the frame of every page needs (a context processor)."""
    user = getattr(request, "user", None)
    menu = menu_for(user, request.path) if isinstance(user, User) else []
    return {"menu": menu, "site": SimpleLazyObject(site_settings)}


def menu_for(user: User, path: str) -> list[MenuArea]:
    """Return the areas this person may go to; "Today" is at the root, so it matches only itself."""
    belongs = _BELONGS.get(path.strip("/").partition("/")[0])
    areas: dict[str, list[MenuEntry]] = {}
    for place in MENU:
        if user.may(place.right):
            url = reverse(place.name)
            current = place.name == belongs or path == url or (url != "/" and path.startswith(url))
            entry = MenuEntry(label=place.label, url=url, current=current)
            areas.setdefault(place.area, []).append(entry)
    return [MenuArea(label=label, places=tuple(places)) for label, places in areas.items()]
