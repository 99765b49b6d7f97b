"""The fixed places, one for each kind that is not storage, laid after every migrate (and flush)."""

from __future__ import annotations

from typing import Any

from inventory.models.places import FIXED_KINDS, Place, PlaceKind


def lay_fixed_places(using: str, **_: Any) -> None:
    """Make the fixed places that are missing; the code of each is its kind in capitals."""
    for kind in FIXED_KINDS:
        Place.objects.using(using).get_or_create(
            kind=kind, defaults={"code": kind.value.upper(), "name": kind.label}
        )


def fixed_place(kind: PlaceKind) -> Place:
    """Return the one place of a kind that is not storage."""
    return Place.objects.get(kind=kind, code=kind.value.upper())
