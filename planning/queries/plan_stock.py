"""The items of a plan, what is on hand of them, and what has been ordered."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import log
from typing import Any, NamedTuple

import numpy as np
from django.db.models import F

from boxwort.quantities import Measure
from inventory.ageing.hops import decay_rate
from inventory.models import CropYear, Item, LotStatus, LotStock
from inventory.queries.hops import HopLives, hop_lives
from inventory.queries.yeasts import YeastLives, yeast_lives
from planning.engine.pitching import enough, pitched_share
from planning.engine.plan_input import Held, IntArray, OnOrder, PlanItem, PlanLot
from planning.models import ON_ORDER, PurchaseLine
from planning.queries.plan_kits import KnownItems, Pitch
from planning.queries.supply import House


def known_items() -> KnownItems:
    """Return every item by code; two statements."""
    crops: dict[int, list[tuple[date, float]]] = defaultdict(list)
    rows = CropYear.objects.order_by("item", "from_on")
    for item_id, from_on, alpha in rows.values_list("item_id", "from_on", "planning_alpha"):
        crops[item_id].append((from_on, alpha))
    rows_of_items = list(Item.objects.order_by("code").values(*_ITEM))
    return KnownItems(
        items=tuple(_item(row, crops.get(row["id"], ())) for row in rows_of_items),
        place={row["id"]: at for at, row in enumerate(rows_of_items)},
        hop_rates={
            row["id"]: float(decay_rate(row["hop__lost_in_six_months"]))
            for row in rows_of_items
            if row["hop__lost_in_six_months"] is not None
        },
        yeast_floors={
            row["id"]: row["yeast__floor_share"]
            for row in rows_of_items
            if row["yeast__floor_share"] is not None
        },
    )


_SAME = (
    "code", "name", "kind", "shelf_days", "quarantine_days", "work_loss", "lot_rule",
    "fixed_quantity", "period_days", "order_cost",
)  # fmt: skip
_ITEM = (
    "id", "measure", "safety_stock", "active", "hop__planning_alpha", "hop__lost_in_six_months",
    "yeast__floor_share", *_SAME,
)  # fmt: skip


def _item(row: Mapping[str, Any], crops: Sequence[tuple[date, float]]) -> PlanItem:
    return PlanItem(
        item_id=row["id"],
        measure=Measure(row["measure"]),
        safety_stock=row["safety_stock"] if row["active"] else 0,
        alpha=row["hop__planning_alpha"],
        crops=tuple(crops),
        **{name: row[name] for name in _SAME},
    )


@dataclass(frozen=True, kw_only=True)
class Stock:
    """Released lots in the order of their codes, and what else lies there, by place of item."""

    lots: tuple[PlanLot, ...]
    held: Mapping[int, Held]


def stock_on_hand(known: KnownItems, rules: House, today: date, until: date) -> Stock:
    """Return what is on hand; five statements, of which four are for the hops.

    Of a hop the alpha acid is that of the lot as it lies today, put to the form of its item; how
    fast it falls is taken from what will be left of it on the last day of the plan.
    """
    rows = list(
        LotStock.objects.filter(on_hand__gt=0)
        .order_by("lot__code")
        .values_list(
            "lot_id", "lot__code", "lot__item_id", "on_hand", "lot__status",
            "lot__best_before_on", "lot__received_on",
        )
    )  # fmt: skip
    lives = hop_lives([row[0] for row in rows if row[2] in known.hop_rates])
    strengths = _Strengths(lives, rules, today, until)
    lots: list[PlanLot] = []
    held: dict[int, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for lot_id, code, item_id, quantity, status, last_on, received_on in rows:
        item = known.place[item_id]
        expired = last_on is not None and last_on < today
        if status != LotStatus.RELEASED or expired:
            held[item][status if status != LotStatus.RELEASED else "expired"] += quantity
            continue
        strength = strengths.of(lot_id)
        lots.append(
            PlanLot(
                lot_id=lot_id,
                code=code,
                item=item,
                quantity=quantity,
                usable_from=received_on if received_on > today else None,
                last_on=last_on,
                alpha=strength.alpha,
                decay=strength.decay,
                form_factor=strength.form_factor,
            )
        )
    return Stock(
        lots=tuple(lots),
        held={
            item: Held(
                quarantine=found[LotStatus.QUARANTINE],
                on_hold=found[LotStatus.ON_HOLD],
                expired=found["expired"],
            )
            for item, found in held.items()
        },
    )


class _Strength(NamedTuple):
    """A lot's alpha acid today in its item's form, a share; its exponential rate a day."""

    alpha: float | None = None
    decay: float = 0.0
    form_factor: float = 1.0


@dataclass(frozen=True)
class _Strengths:
    """What hop lots hold today, and how fast they lose it until the plan ends."""

    lives: HopLives
    rules: House
    today: date
    until: date

    def of(self, lot_id: int) -> _Strength:
        """Return what a lot holds; nothing of what is no hop."""
        if lot_id not in self.lives.hops:
            return _Strength()
        now, then = (
            self.lives.on(lot_id, pack_on=day, brew_on=day, pouch=self.rules.pouch).alpha
            for day in (self.today, self.until)
        )
        days = (self.until - self.today).days
        decay = log(now / then) / days if now > 0 and then > 0 else 0.0
        factor = self.rules.form_factor(self.lives, lot_id)
        return _Strength(alpha=now * factor, decay=decay, form_factor=factor)


def pitch_days(
    pitches: Iterable[Pitch], lots: Sequence[PlanLot], rules: House, today: date, buckets: int
) -> IntArray:
    """Return [pitches, lots] the last bucket on which each lot pitches the floor.

    -1: not even today; ``buckets``: throughout, and so of lots of other items. Four statements.
    """
    asked = list(pitches)
    of_item: dict[int, list[int]] = defaultdict(list)
    yeasts = {pitch.item for pitch in asked}
    for at, lot in enumerate(lots):
        if lot.item in yeasts:
            of_item[lot.item].append(at)
    lives = yeast_lives([lots[at].lot_id for found in of_item.values() for at in found])
    found = np.full((len(asked), len(lots)), buckets, dtype=np.int64)
    judge = _Judge(lives, rules, today)
    for place, pitch in enumerate(asked):
        for at in of_item[pitch.item]:
            found[place, at] = judge.last_bucket(lots[at].lot_id, pitch, buckets)
    return found


class _Judge:
    """What lots pitch on one day after another, each asked once."""

    def __init__(self, lives: YeastLives, rules: House, today: date) -> None:
        self.lives, self.rules, self.today = lives, rules, today
        self.known: dict[tuple[int, int, int], tuple[float, float]] = {}

    def last_bucket(self, lot_id: int, pitch: Pitch, buckets: int) -> int:
        if self._serves(lot_id, pitch, buckets - 1):
            return buckets
        good, bad = -1, buckets - 1
        while bad - good > 1:
            middle = (good + bad) // 2
            if self._serves(lot_id, pitch, middle):
                good = middle
            else:
                bad = middle
        return good

    def _serves(self, lot_id: int, pitch: Pitch, bucket: int) -> bool:
        living, fill = self._alive(lot_id, pitch.shelf_days, bucket)
        given = pitched_share(packs=pitch.packs, living=living, fill=fill, asked=pitch.asked)
        return enough(given, pitch.floor)

    def _alive(self, lot_id: int, shelf_days: int, bucket: int) -> tuple[float, float]:
        place = lot_id, shelf_days, bucket
        if place not in self.known:
            leaves_on = self.today + timedelta(days=bucket)
            brew_on = leaves_on + timedelta(days=shelf_days)
            alive = self.lives.pitched_on(lot_id, leaves_on, brew_on, self.rules.journey)
            self.known[place] = alive.share, alive.fill
        return self.known[place]


def on_order(known: KnownItems) -> tuple[OnOrder, ...]:
    """Return what will still come of the orders that were sent; one statement."""
    lines = PurchaseLine.objects.filter(
        order__state__in=ON_ORDER, ended=False, quantity__gt=F("received")
    )
    return tuple(
        OnOrder(code=code, item=known.place[item_id], quantity=left, due_on=due_on)
        for code, item_id, left, due_on in lines.order_by("due_on", "order__code").values_list(
            "order__code", "item_id", F("quantity") - F("received"), "due_on"
        )
    )
