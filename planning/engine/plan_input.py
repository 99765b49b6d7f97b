"""What a plan is made from: demand, kits and their bills, runs, stock, what is on order, offers.

Everything is named by its place in the tuples of :class:`PlanInput`, so that a what-if can replace
one lot, one offer or one number and plan again without a database. Days are dates; the plan counts
them in buckets from today, bucket 0.

A *make* is a kit as it is packed: with one yeast and with the substitutes that a run uses. The
first makes are the kits themselves, as they are usually packed. A *pitch* is what some makes ask of
a yeast: lots are judged by pitch and not by item, because a lot may be too weak for one kit and do
for another.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from boxwort.quantities import Measure
from planning.engine.calendar import Delivery, OrderDays, WorkingDays, order_days

IntArray = NDArray[np.int64]
FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

DAYS_A_WEEK = 7
MOST_WEEKS = 104
"""A plan looks no farther, whatever runs there are."""


@dataclass(frozen=True, kw_only=True)
class PlanItem:
    """An item as it is planned.

    Attributes
    ----------
    item_id, code, name, kind, measure: as people know it.
    safety_stock, fixed_quantity: whole units of stock.
    shelf_days: days that a fresh lot keeps; None: it does not expire.
    quarantine_days: days after its receipt until it can be used.
    work_loss: share of a hop that work on it usually loses.
    lot_rule, period_days, order_cost: see :class:`planning.engine.rules.LotSizing`.
    alpha: planning alpha, a share; None: it is no hop. ``crops`` replace it from their days on.
    """

    item_id: int
    code: str
    name: str
    kind: str
    measure: Measure
    safety_stock: int = 0
    shelf_days: int | None = None
    quarantine_days: int = 0
    work_loss: float = 0.0
    lot_rule: str = "period"
    fixed_quantity: int | None = None
    period_days: int | None = None
    order_cost: int = 0
    alpha: float | None = None
    crops: tuple[tuple[date, float], ...] = ()

    def alpha_on(self, day: date) -> float:
        """Return the planning alpha of a delivery on a day, a share."""
        sold = [alpha for from_on, alpha in self.crops if from_on <= day]
        return sold[-1] if sold else self.alpha or 0.0


@dataclass(frozen=True, kw_only=True)
class PlanKit:
    """A kit: its item, how its runs are made, and between which days.

    ``packable``: it is offered, and its revision too. ``price`` is ten-thousandths for one kit.
    """

    kit_id: int
    item: int
    shelf_days: int
    minimum: int = 1
    multiple: int = 1
    first_pack_on: date | None = None
    last_pack_on: date | None = None
    last_sale_on: date | None = None
    packable: bool = True
    price: int = 0


@dataclass(frozen=True, kw_only=True, eq=False)
class MakeRows:
    """The bills of all makes, one entry for each row, by make.

    Attributes
    ----------
    make, item: what takes, and what is taken.
    packed: whole units of stock for one kit; ``overage`` is the share lost on top.
    dispatch: whether it goes in when the box leaves.
    alpha: alpha acid, a share on pack day, that stands for the bitterness of what is packed; nan
        where the weight counts.
    pitch: what is asked of the yeast, -1 of anything else.
    """

    make: IntArray
    item: IntArray
    packed: IntArray
    overage: FloatArray
    dispatch: BoolArray
    alpha: FloatArray
    pitch: IntArray


@dataclass(frozen=True, kw_only=True)
class PlanRun:
    """An open run, by its code and pack day."""

    run_id: int
    code: str
    pack_on: date


@dataclass(frozen=True, kw_only=True)
class PlanRunLine:
    """Kits of one make that a run still has to pack.

    ``allotted``: its batches hold lots, so that it takes what :class:`Allotted` says and no bill.
    """

    run: int
    make: int
    kits: int
    allotted: bool = False


@dataclass(frozen=True, kw_only=True)
class Allotted:
    """What the batches of a run that are not packed hold of an item, whole units of stock."""

    run: int
    item: int
    quantity: int


@dataclass(frozen=True, kw_only=True)
class PlanOrder:
    """A customer order: its code, who ordered, and the day it is to leave."""

    order_id: int
    code: str
    customer: str
    promised_on: date


@dataclass(frozen=True, kw_only=True)
class PlanOrderLine:
    """What a customer ordered: kits of a make, or whole units of an item beside them.

    ``ordered`` is all of it, which uses up the forecast; ``left`` has not been dispatched.
    """

    order: int
    ordered: int
    left: int
    make: int | None = None
    item: int | None = None


@dataclass(frozen=True, kw_only=True)
class PlanLot:
    """A released lot on hand, in whole units of stock.

    Attributes
    ----------
    usable_from: the first day; None: now. ``last_on`` is its best-before; None: it keeps.
    alpha: of a hop, a share today, reckoned as the item's own form; it falls by the exponential
        rate ``decay`` each day. None: it is no hop.
    form_factor: what brings the lot's own alpha acid to the item's form.
    """

    lot_id: int
    code: str
    item: int
    quantity: int
    usable_from: date | None = None
    last_on: date | None = None
    alpha: float | None = None
    decay: float = 0.0
    form_factor: float = 1.0


@dataclass(frozen=True, kw_only=True)
class OnOrder:
    """A scheduled receipt: what will still come of one line of a purchase order."""

    code: str
    item: int
    quantity: int
    due_on: date


@dataclass(frozen=True, kw_only=True)
class PlanOffer:
    """An item as one supplier sells it; ``breaks`` is empty where there is no price."""

    offer_id: int
    item: int
    supplier_id: int
    supplier_code: str
    supplier_name: str
    supplier_item_code: str
    pack_quantity: int
    minimum_packs: int
    breaks: tuple[tuple[int, int], ...]
    preferred: bool
    delivery: Delivery


@dataclass(frozen=True, kw_only=True)
class PlanContract:
    """What may still be called off a contract, between its days; None: the offer's price."""

    code: str
    offer_id: int
    left: int
    pack_price: int | None
    from_on: date
    until_on: date


@dataclass(frozen=True, kw_only=True)
class Held:
    """Stock that is no supply, by item: in quarantine, on hold, and past its day."""

    quarantine: int = 0
    on_hold: int = 0
    expired: int = 0


@dataclass(frozen=True, kw_only=True)
class StandIn:
    """An approved substitute for an item in a make: so many whole units for one kit."""

    make: int
    item: int
    stands_for: int
    packed: int


@dataclass(frozen=True, kw_only=True)
class HouseRules:
    """The house's rules of planning.

    ``kits_per_day`` is what the bench packs, None: no limit; ``pack_lead_days`` are working days
    from packing to leaving; ``consume_back`` and ``consume_forward`` weeks; ``holding_share`` is
    what keeping stock for a year costs, as a share of its value.
    """

    kits_per_day: int | None = None
    pack_lead_days: int = 0
    consume_back: int = 0
    consume_forward: int = 0
    holding_share: float = 0.2


@dataclass(frozen=True, kw_only=True, eq=False)
class PlanInput:
    """Everything a plan is made from, as of ``today``.

    Attributes
    ----------
    weeks: how many to look ahead. ``suggest``: whether runs are suggested for what is demanded;
        without, only the runs that people planned are planned for.
    first_week: the Monday of the first column of ``forecast``, [kits, weeks].
    make_kit: the kit of each make; the first are the kits.
    pitch_item, pitch_last: the yeast of each pitch, and [pitches, lots] the last bucket on which
        a lot pitches it to its floor: below 0 not even today, beyond the plan it does throughout.
    held: by item.
    """

    today: date
    weeks: int
    calendar: WorkingDays
    house: HouseRules
    items: tuple[PlanItem, ...]
    kits: tuple[PlanKit, ...]
    make_kit: IntArray
    rows: MakeRows
    first_week: date
    forecast: IntArray
    orders: tuple[PlanOrder, ...] = ()
    order_lines: tuple[PlanOrderLine, ...] = ()
    runs: tuple[PlanRun, ...] = ()
    run_lines: tuple[PlanRunLine, ...] = ()
    allotted: tuple[Allotted, ...] = ()
    lots: tuple[PlanLot, ...] = ()
    on_order: tuple[OnOrder, ...] = ()
    offers: tuple[PlanOffer, ...] = ()
    contracts: tuple[PlanContract, ...] = ()
    stand_ins: tuple[StandIn, ...] = ()
    held: Mapping[int, Held] = field(default_factory=dict)
    pitch_item: IntArray = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    pitch_last: IntArray = field(default_factory=lambda: np.zeros((0, 0), dtype=np.int64))
    suggest: bool = True

    @cached_property
    def buckets(self) -> int:
        """Days of the plan: the weeks to look ahead, and longer where a run is planned later."""
        last = max((run.pack_on for run in self.runs), default=self.today)
        days = max(self.weeks * DAYS_A_WEEK, (last - self.today).days + 1)
        return min(days, MOST_WEEKS * DAYS_A_WEEK)

    def bucket(self, day: date) -> int:
        """Return the bucket of a day; what is past counts as today, what is later as after all."""
        return min(max((day - self.today).days, 0), self.buckets)

    def day(self, bucket: int) -> date:
        """Return the day of a bucket."""
        return self.today + timedelta(days=int(bucket))

    def order_days(self, delivery: Delivery, bucket: int) -> OrderDays:
        """Return by when to order what must be usable in a bucket; each is reckoned once."""
        found = self._order_days.get((delivery, bucket))
        if found is None:
            found = self._order_days[delivery, bucket] = order_days(
                self.day(bucket), delivery=delivery, calendar=self.calendar, today=self.today
            )
        return found

    @cached_property
    def _order_days(self) -> dict[tuple[Delivery, int], OrderDays]:
        return {}

    def strength(self, item: int) -> FloatArray:
        """Return the planning alpha of what is delivered for each day, a share; nan: no hop."""
        facts = self.items[item]
        if not facts.crops:
            return np.full(self.buckets, facts.alpha or np.nan)
        delay = timedelta(days=facts.quarantine_days)
        return np.array([facts.alpha_on(self.day(day) - delay) for day in range(self.buckets)])

    @cached_property
    def kit_of_item(self) -> Mapping[int, int]:
        """The kit that each item is, of those that are kits."""
        return {kit.item: place for place, kit in enumerate(self.kits)}
