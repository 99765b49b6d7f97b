"""Small plans to try: a kit of malt, hops, yeast and a box, and what a test changes of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from math import nan
from typing import Any

import numpy as np

from boxwort.quantities import Measure
from planning.engine.calendar import Delivery, WorkingDays
from planning.engine.plan import PlanResult, planned
from planning.engine.plan_causes import CauseKind
from planning.engine.plan_input import (
    HouseRules,
    MakeRows,
    PlanInput,
    PlanItem,
    PlanKit,
    PlanLot,
    PlanOffer,
    PlanOrder,
    PlanOrderLine,
    PlanRun,
    PlanRunLine,
)

TODAY = date(2026, 3, 2)  # a Monday
KIT, MALT, HOP, YEAST, BOX, PACK = range(6)
G, KG = 1_000, 1_000_000


def day(number: int) -> date:
    return TODAY + timedelta(days=number)


def item(code: str, kind: str, **facts: Any) -> PlanItem:
    measure = Measure.MASS if kind in ("grain", "hop") else Measure.COUNT
    return PlanItem(
        item_id=100 + len(code), code=code, name=code.title(), kind=kind, measure=measure, **facts
    )


ITEMS = (
    item("KIT", "kit"),
    item("MALT", "grain"),
    item("HOP", "hop", alpha=0.10),
    item("YEAST", "yeast"),
    item("BOX", "packaging"),
    item("PACK", "kit"),
)
Row = tuple[int, int, int, float, bool, float, int]
ROWS: tuple[Row, ...] = (
    (0, MALT, 5 * KG, 0.02, False, nan, -1),
    (0, HOP, 30 * G, 0.0, False, 0.10, -1),
    (0, YEAST, 1, 0.0, True, nan, 0),
    (0, BOX, 1, 0.0, False, nan, -1),
)


def pitches(*lasts: int) -> dict[str, Any]:
    """Return the last bucket on which each lot pitches the yeast of an input."""
    return {"pitch_last": np.array([lasts])}


def bills(rows: Sequence[Row]) -> MakeRows:
    make, thing, packed, overage, dispatch, alpha, pitch = zip(*rows, strict=True)
    return MakeRows(
        make=np.array(make),
        item=np.array(thing),
        packed=np.array(packed),
        overage=np.array(overage, dtype=float),
        dispatch=np.array(dispatch),
        alpha=np.array(alpha, dtype=float),
        pitch=np.array(pitch),
    )


def offer(thing: int, **facts: Any) -> PlanOffer:
    lead, quarantine = facts.pop("lead", 5), facts.pop("quarantine", 0)
    known: dict[str, Any] = {
        "offer_id": 1 + thing,
        "supplier_id": 1,
        "supplier_code": "SHOP",
        "supplier_name": "Shop",
        "supplier_item_code": "",
        "pack_quantity": 1,
        "minimum_packs": 1,
        "breaks": ((1, 100),),
        "preferred": True,
        "delivery": Delivery(lead_days=lead, quarantine_days=quarantine),
    } | facts
    return PlanOffer(item=thing, **known)


def lot(code: str, thing: int, quantity: int, **facts: Any) -> PlanLot:
    return PlanLot(lot_id=len(code), code=code, item=thing, quantity=quantity, **facts)


def given(**facts: Any) -> PlanInput:
    """Return an input of four weeks: one kit, nothing in stock, a shop that sells everything."""
    weeks = facts.pop("weeks", 4)
    rows = facts.pop("rows", ROWS)
    known: dict[str, Any] = {
        "calendar": WorkingDays(),
        "house": HouseRules(),
        "items": ITEMS,
        "kits": (PlanKit(kit_id=1, item=KIT, shelf_days=30),),
        "make_kit": np.array([0]),
        "first_week": TODAY,
        "forecast": np.zeros((len(facts.get("kits", (0,))), weeks), dtype=np.int64),
        "offers": tuple(offer(thing) for thing in (MALT, HOP, YEAST, BOX)),
        "pitch_item": np.array([YEAST]),
        "pitch_last": np.full((1, len(facts.get("lots", ()))), 10_000),
    } | facts
    return PlanInput(today=TODAY, weeks=weeks, rows=bills(rows), **known)


def with_orders(found: PlanInput, *orders: tuple[int, int], make: int = 0) -> PlanInput:
    """Return the input with an order for so many kits in so many days, for each pair."""
    return replace(
        found,
        orders=tuple(
            PlanOrder(order_id=n, code=f"CO-{n}", customer="Ann", promised_on=day(in_days))
            for n, (in_days, _) in enumerate(orders, start=1)
        ),
        order_lines=tuple(
            PlanOrderLine(order=at, ordered=kits, left=kits, make=make)
            for at, (_, kits) in enumerate(orders)
        ),
    )


def with_runs(found: PlanInput, *runs: tuple[int, int], make: int = 0) -> PlanInput:
    """Return the input with an open run of so many kits in so many days, for each pair."""
    return replace(
        found,
        runs=tuple(
            PlanRun(run_id=n, code=f"RUN-{n}", pack_on=day(in_days))
            for n, (in_days, _) in enumerate(runs, start=1)
        ),
        run_lines=tuple(
            PlanRunLine(run=at, make=make, kits=kits) for at, (_, kits) in enumerate(runs)
        ),
    )


def runs_of(plan: PlanResult) -> list[tuple[int, int]]:
    """Return the day and the kits of every suggested run."""
    return [(run.bucket, run.kits) for level in plan.levels for run in level.runs.rows]


def bought(plan: PlanResult, thing: int) -> list[tuple[int, int]]:
    """Return the day by which it is needed and the quantity, of every order for an item."""
    return [(buy.bucket, buy.quantity) for buy in plan.buys if buy.item == thing]


def needed(plan: PlanResult, thing: int) -> list[tuple[CauseKind, int, int]]:
    """Return what an item is needed for, when, and how much of it."""
    mine = plan.needs.item == thing
    rows = zip(
        plan.needs.cause[mine], plan.needs.bucket[mine], plan.needs.quantity[mine], strict=True
    )
    return [(plan.causes.of(int(cause)).kind, int(on), int(much)) for cause, on, much in rows]


def change(found: PlanInput, thing: int, **facts: Any) -> PlanInput:
    """Return the input with one item changed."""
    items = list(found.items)
    items[thing] = replace(items[thing], **facts)
    return replace(found, items=tuple(items))


__all__ = ["bought", "change", "given", "needed", "planned", "runs_of", "with_orders", "with_runs"]
