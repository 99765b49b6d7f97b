"""A throw-away database, and a made-up plan stored in it as the house would hold it.

Rows are written straight into the tables: nobody acts here, and nothing of it is kept.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import numpy as np
from django.db import connection, models

from boxwort.accounts.models import SiteSettings, User
from boxwort.accounts.queries import house_user
from boxwort.quantities import Measure
from inventory.models import (
    Analysis,
    AnalysisKind,
    HopSpec,
    Item,
    ItemKind,
    Lot,
    LotStatus,
    LotStock,
    PriceBreak,
    Supplier,
    SupplierItem,
    YeastSpec,
)
from inventory.models.items import LotRule
from planning.engine.rules import FIXED
from planning.management.made_up_plan import (
    BOX,
    BY_ALPHA,
    GRAIN,
    HOP,
    KEEPS,
    WEEKS,
    WORK_LOSS,
    YEAST,
    MadeUpPlan,
)
from planning.models import Forecast, OrderState, PurchaseLine, PurchaseOrder
from recipes.brewing.roles import HopRole, MethodKind
from recipes.models import Kit, KitBillLine, Method, Part, Recipe, Revision, RevisionState

_KINDS = {
    GRAIN: (ItemKind.GRAIN, Measure.MASS),
    HOP: (ItemKind.HOP, Measure.MASS),
    YEAST: (ItemKind.YEAST, Measure.COUNT),
    BOX: (ItemKind.PACKAGING, Measure.COUNT),
}
_VOLUME = 20_000_000
_LEAD_DAYS = 7
_ROWS_AT_ONCE = 2_000


@contextmanager
def throw_away_database() -> Iterator[None]:
    """Stand on an empty database of the same kind as the house's, and leave nothing of it behind.

    SQLite keeps it in a file, as it keeps the house's.
    """
    creation, facts = connection.creation, connection.settings_dict
    own, test = facts["NAME"], facts["TEST"]["NAME"]
    connection.close()
    with TemporaryDirectory() as folder:
        name = f"boxwort_bench_{os.getpid()}"
        sqlite = connection.vendor == "sqlite"
        facts["TEST"]["NAME"] = str(Path(folder) / f"{name}.sqlite3") if sqlite else name
        try:
            creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
            try:
                yield
            finally:
                creation.destroy_test_db(own, verbosity=0)
        finally:
            facts["TEST"]["NAME"] = test


def store(plan: MadeUpPlan, today: date) -> None:
    """Write a made-up plan into the database; ``today`` is a Monday."""
    SiteSettings.objects.update_or_create(pk=1, defaults={"horizon_weeks": WEEKS})
    by = house_user()
    items = _items(plan)
    kits = _kits(len(plan.wanted))
    offers = _offers(plan, items)
    _bills(plan, kits, items)
    _stock(plan, items, today, by)
    _on_order(plan, offers, today)
    _put(
        Forecast(kit=kit, week_on=today + timedelta(weeks=week), kits=count)
        for kit, row in zip(kits, plan.wanted.tolist(), strict=True)
        for week, count in enumerate(row)
    )


def _put(rows: Iterator[Any] | Sequence[Any]) -> list[Any]:
    made = list(rows)
    manager: models.Manager[Any] = type(made[0])._default_manager
    return manager.bulk_create(made, batch_size=_ROWS_AT_ONCE)


def _items(plan: MadeUpPlan) -> list[Item]:
    items = _put(
        Item(
            code=f"PART-{at:06}",
            name=f"Part {at}",
            kind=_KINDS[kind][0],
            measure=_KINDS[kind][1],
            lot_rule=LotRule(rule.kind),
            fixed_quantity=rule.quantity if rule.kind == FIXED else None,
            period_days=7 * rule.period if rule.period else None,
            order_cost=rule.order_cost,
            work_loss=WORK_LOSS if kind == HOP else 0.0,
        )
        for at, (kind, rule) in enumerate(zip(plan.kind.tolist(), plan.rules, strict=True))
    )
    _put(
        HopSpec(item=items[at], planning_alpha=float(plan.alpha[at]), lost_in_six_months=0.3)
        for at in np.flatnonzero(plan.kind == HOP).tolist()
    )
    _put(
        YeastSpec(item=items[at], form="liquid", attenuation=0.75, cells_per_pack=200e9)
        for at in np.flatnonzero(plan.kind == YEAST).tolist()
    )
    return items


def _kits(count: int) -> list[Kit]:
    items = _put(
        Item(code=f"KIT-{at:06}", name=f"Kit {at}", kind=ItemKind.KIT, measure=Measure.COUNT)
        for at in range(count)
    )
    recipe = Recipe.objects.create(code="MADE-UP", name="Made up")
    revision = Revision.objects.create(
        recipe=recipe, number=1, state=RevisionState.OFFERED, content_hash="0" * 64
    )
    method = Method.objects.create(
        revision=revision,
        kind=MethodKind.ALL_GRAIN.value,
        finished_volume=_VOLUME,
        pre_boil_volume=_VOLUME + 5_000_000,
        post_boil_volume=_VOLUME,
    )
    return _put(
        Kit(
            item=item,
            method=method,
            volume=_VOLUME,
            offered=True,
            target_ibu=30.0,
            target_share=1.0 if at % 2 == 0 else None,  # every second is pickier about its yeast
            floor_share=0.8 if at % 2 == 0 else None,
        )
        for at, item in enumerate(items)
    )


def _bills(plan: MadeUpPlan, kits: Sequence[Kit], items: Sequence[Item]) -> None:
    bills = plan.bills
    rows = zip(
        bills.parent.tolist(),
        bills.component.tolist(),
        bills.packed.tolist(),
        bills.overage.tolist(),
        plan.line.tolist(),
        strict=True,
    )
    _put(
        KitBillLine(
            kit=kits[parent],
            key=f"line-{line}",
            position=line,
            item=items[component],
            exact=packed,
            packed=packed,
            overage=overage,
            **_use(int(plan.kind[component]), line, float(plan.alpha[component])),
        )
        for parent, component, packed, overage, line in rows
    )


def _use(kind: int, line: int, alpha: float) -> dict[str, Any]:
    if kind == YEAST:
        return {"is_yeast_option": True, "part": Part.DISPATCH}
    if kind == HOP:
        role = HopRole.ABSORB if line in BY_ALPHA else HopRole.HOLD_WEIGHT
        return {"role": role.value, "reference_alpha": alpha}
    return {}


def _stock(plan: MadeUpPlan, items: Sequence[Item], today: date, by: User) -> None:
    supplies = plan.supplies
    mine = np.flatnonzero(~plan.receipt).tolist()
    lots = _put(
        Lot(
            code=f"LOT-{at:06}",
            item=items[int(supplies.item[at])],
            received_on=today,
            packaged_on=today,
            status=LotStatus.RELEASED,
            best_before_on=_last_day(int(supplies.last[at]), today),
        )
        for at in mine
    )
    _put(
        LotStock(lot=lot, on_hand=int(supplies.quantity[at]))
        for lot, at in zip(lots, mine, strict=True)
    )
    _put(
        Analysis(
            lot=lot,
            kind=AnalysisKind.ALPHA,
            sampled_on=today,
            value=float(supplies.alpha[at]) if supplies.alpha is not None else 0.0,
            by=by,
        )
        for lot, at in zip(lots, mine, strict=True)
        if plan.kind[supplies.item[at]] == HOP
    )


def _last_day(week: int, today: date) -> date | None:
    return None if week >= KEEPS else today + timedelta(days=7 * week + 6)


def _offers(plan: MadeUpPlan, items: Sequence[Item]) -> list[SupplierItem]:
    supplier = Supplier.objects.create(code="MAKER", name="Maker", lead_days=_LEAD_DAYS)
    offers = _put(
        SupplierItem(supplier=supplier, item=item, pack_quantity=rule.pack_quantity)
        for item, rule in zip(items, plan.rules, strict=True)
    )
    _put(
        PriceBreak(offer=offer, from_packs=packs, pack_price=price)
        for offer, rule in zip(offers, plan.rules, strict=True)
        for packs, price in rule.breaks
    )
    return offers


def _on_order(plan: MadeUpPlan, offers: Sequence[SupplierItem], today: date) -> None:
    """Write one order a line: no order holds an item twice for one day."""
    supplies = plan.supplies
    mine = np.flatnonzero(plan.receipt).tolist()
    supplier = offers[0].supplier
    orders = _put(
        PurchaseOrder(
            code=f"ORDER-{at:06}", supplier=supplier, ordered_on=today, state=OrderState.SENT
        )
        for at in mine
    )
    _put(
        PurchaseLine(
            order=order,
            item=offers[int(supplies.item[at])].item,
            quantity=int(supplies.quantity[at]),
            due_on=today + timedelta(weeks=int(supplies.first[at])),
        )
        for order, at in zip(orders, mine, strict=True)
    )
