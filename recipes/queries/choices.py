"""What a person can choose from when writing recipes and kits."""

from __future__ import annotations

from dataclasses import dataclass

from boxwort.figures import share as percent
from inventory.models import Item, ItemKind
from recipes.models import Style

_NO_LINE = (ItemKind.YEAST, ItemKind.KIT)


@dataclass(frozen=True, kw_only=True)
class ItemChoice:
    """An item in a list to choose from: its name with its code, and what tells it apart."""

    value: str
    hint: str


def items_for_lines() -> list[Item]:
    """Return what may be a line of a method, retired items too, by name; one statement."""
    items = Item.objects.exclude(kind__in=_NO_LINE).select_related("malt", "hop")
    return list(items.order_by("name", "code"))


def items_for_yeast() -> list[Item]:
    """Return the yeasts, by name; one statement."""
    return list(Item.objects.filter(kind=ItemKind.YEAST).select_related("yeast").order_by("name"))


def items_for_parts() -> list[Item]:
    """Return what may be in the box of a kit beside its lines, by name; one statement."""
    return list(Item.objects.exclude(kind=ItemKind.YEAST).order_by("name", "code"))


def choices_of(items: list[Item]) -> list[ItemChoice]:
    """Return the items in use as a list to choose from."""
    return [ItemChoice(value=str(item), hint=_hint(item)) for item in items if item.active]


def style_names() -> list[str]:
    """Return the names of the styles that are known; one statement."""
    return list(Style.objects.order_by("name").values_list("name", flat=True))


def _hint(item: Item) -> str:
    hop = getattr(item, "hop", None) if item.kind == ItemKind.HOP else None
    kind = str(ItemKind(item.kind).label)
    return f"{kind}, {percent(hop.planning_alpha)} alpha acid" if hop else kind
