"""Makers for tests of dispatch: zones, orders, and a store with finished kits and live yeast."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from inventory.models import Item, Lot
from planning.engine.boxes import Share
from planning.models import CustomerOrder, Dispatch, DispatchZone, OrderLine
from planning.queries.dispatch_boxes import Picks
from planning.queries.dispatch_choices import dispatch_choice
from planning.services.dispatching import dispatch_order, proposed
from tests.make import key
from tests.planning.make import TODAY, Store, store

FRESH = TODAY - timedelta(days=5)
GOOD_KITS = TODAY + timedelta(days=200)


def zone(code: str = "NORTH", **facts: Any) -> DispatchZone:
    known = {"name": code.title(), "transit_days": 2, "temperature_c": 12.0} | facts
    return DispatchZone.objects.create(code=code, **known)


def order(code: str = "", promised_on: date = TODAY, **facts: Any) -> CustomerOrder:
    known = {"customer": "Alder and Ash"} | facts
    code = code or f"C-{CustomerOrder.objects.count() + 1}"
    return CustomerOrder.objects.create(code=code, promised_on=promised_on, **known)


def line(of: CustomerOrder, quantity: int, **facts: Any) -> OrderLine:
    return OrderLine.objects.create(
        order=of, position=of.lines.count() + 1, quantity=quantity, **facts
    )


def kits(made: Store, quantity: int, code: str, **facts: Any) -> Lot:
    """Receive finished kits as they were counted into the store."""
    known = {"received_on": TODAY - timedelta(days=20), "best_before_on": GOOD_KITS} | facts
    return made.lot(made.kit.item, quantity, code=code, **known)


def yeast(made: Store, packs: int, code: str, age: int = 5, item: Item | None = None) -> Lot:
    """Receive packs of the usual yeast that were packaged so many days ago."""
    born = TODAY - timedelta(days=age)
    return made.lot(
        item or made.goods.ale_yeast,
        packs,
        code=code,
        packaged_on=born,
        received_on=max(born, TODAY - timedelta(days=30)),
        best_before_on=born + timedelta(days=300),
    )


def shop(**facts: Any) -> Store:
    """Return a store whose kits are brewed two weeks after they leave."""
    return store(**{"shelf_days": 14} | facts)


def one_order(made: Store, quantity: int = 4, **facts: Any) -> CustomerOrder:
    """Return an order of so many kits, to a zone two days away."""
    made_order = order(zone=DispatchZone.objects.filter(code="NORTH").first() or zone())
    line(made_order, quantity, kit=made.kit, **facts)
    return made_order


def send(
    made: Store, of: CustomerOrder, picks: Picks | None = None, on: date = TODAY, **facts: Any
) -> Dispatch:
    """Dispatch what is proposed, or what is picked."""
    if picks is None:
        picks = proposed(dispatch_choice(of.pk, on))
    known = {"expected": of.version, "key": key()} | facts
    return dispatch_order(by=made.by, order=of, shipped_on=on, picks=picks, **known)


def picked(**kinds: dict[str, int]) -> dict[str, tuple[Share, ...]]:
    """Return picks of one line: boxes by lot code, by kind of thing (``_`` for a hyphen)."""
    codes = {code for lots in kinds.values() for code in lots}
    ids = dict(Lot.objects.filter(code__in=codes).values_list("code", "pk"))
    return {
        kind.replace("_", "-"): tuple(
            Share(lot=ids[code], boxes=boxes) for code, boxes in lots.items()
        )
        for kind, lots in kinds.items()
    }


def milled(made: Store, quantity: int, code: str) -> Lot:
    """Receive crystal malt that was crushed two days ago."""
    lot = made.lot(
        made.goods.crystal, quantity, code=code, best_before_on=TODAY + timedelta(days=40)
    )
    Lot.objects.filter(pk=lot.pk).update(crushed_on=TODAY - timedelta(days=2))
    return lot
