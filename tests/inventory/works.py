"""Makers of work on lots for tests: a repack, a milling, a blend, kits packed and broken down."""

from __future__ import annotations

from typing import Any

from inventory.models import Conversion, Item, ItemKind, Lot, LotStock, Place
from inventory.queries.conversions import contents_of
from inventory.services.blending import blend_lots
from inventory.services.breaking_down import Returned, break_down
from inventory.services.conversions import complete_conversion
from inventory.services.repacking import Left, decant_lot, mill_lot, repack_lot
from inventory.services.works import Made, Taken
from tests import make


def taken(lot: Lot, quantity: int, place: Place | None = None) -> Taken:
    """Return so much of a lot, from STORE unless said otherwise."""
    return Taken(lot_id=lot.pk, quantity=quantity, place=place or make.place())


def made(code: str, quantity: int, place: Place | None = None) -> Made:
    """Return a new lot put in STORE unless said otherwise."""
    return Made(code=code, quantity=quantity, place=place or make.place())


def _facts(left: tuple[int, str] | None, facts: dict[str, Any]) -> dict[str, Any]:
    if left:
        facts["left"] = Left(quantity=left[0], code=left[1])
    return {"by": make.user(), "on": make.TODAY, "key": make.key(), **facts}


def repacked(
    lot: Lot, took: int, gave: int, left: tuple[int, str] | None = None, **facts: Any
) -> Conversion:
    """Repack some of a lot as NEW-1."""
    code, place = facts.pop("code", "NEW-1"), facts.pop("place", None)
    wanted = _facts(left, facts)
    return repack_lot(taken=taken(lot, took), made=made(code, gave, place), **wanted)


def milled(
    lot: Lot, took: int, gave: int, left: tuple[int, str] | None = None, **facts: Any
) -> Conversion:
    """Mill some of a lot as NEW-1."""
    code = facts.pop("code", "NEW-1")
    return mill_lot(taken=taken(lot, took), made=made(code, gave), **_facts(left, facts))


def decanted(
    lot: Lot, took: int, gave: int, left: tuple[int, str] | None = None, **facts: Any
) -> Conversion:
    """Decant some of a lot as NEW-1."""
    code = facts.pop("code", "NEW-1")
    return decant_lot(taken=taken(lot, took), made=made(code, gave), **_facts(left, facts))


def blended(*parts: tuple[Lot, int], gave: int, **facts: Any) -> Conversion:
    """Blend some of each lot as NEW-1."""
    code = facts.pop("code", "NEW-1")
    return blend_lots(
        taken=[taken(lot, quantity) for lot, quantity in parts],
        made=made(code, gave),
        **_facts(None, facts),
    )


def packed(*parts: tuple[Lot, int], kits: int, code: str = "KITS-1", **facts: Any) -> Lot:
    """Pack kits of so much of each lot, put in STORE unless said otherwise."""
    where = {"place": facts.pop("place")} if "place" in facts else {}
    return complete_conversion(
        by=make.user(),
        conversion=make.conversion(),
        used=[make.used(lot, quantity, str(line)) for line, (lot, quantity) in enumerate(parts)],
        **{
            "output": make.output(code, kits, **where),
            "occurred_on": make.TODAY,
            "key": make.key(),
            **facts,
        },
    )


def broken_down(
    kits: Lot, number: int, good: dict[str, int] | None = None, **facts: Any
) -> Conversion:
    """Break so many kits down: all of each lot is good unless said, its new lot is its code-B."""
    good = good or {}
    place = facts.pop("place", None)
    return break_down(
        taken=taken(kits, number, place),
        returned=[
            Returned(
                lot_id=row.lot_id,
                quantity=good.get(row.code, row.quantity),
                code=f"{row.code}-B{number}",
                place=make.place(),
            )
            for row in contents_of(kits, number)
        ],
        **_facts(None, facts),
    )


def on_hand(code: str) -> int:
    """Return how much of a lot is on hand."""
    return LotStock.objects.get(lot__code=code).on_hand


def hop(code: str = "FUG-1", quantity: int = 1000, **facts: Any) -> Lot:
    """Return a lot of hops packed loose."""
    item = facts.pop("item", None) or make.item("FUG", ItemKind.HOP)
    return make.lot(code, quantity, item=item, **{"packing": "loose", **facts})


def keeps(item: Item, **lives: Any) -> Item:
    """Let an item lose, or keep so many days crushed or opened."""
    Item.objects.filter(pk=item.pk).update(**lives)
    item.refresh_from_db()
    return item
