"""What is wanted of a plan: customer orders and forecast, and the runs that are open."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from django.db.models import F, Q

from planning.engine.plan_input import (
    Allotted,
    IntArray,
    PlanOrder,
    PlanOrderLine,
    PlanRun,
    PlanRunLine,
)
from planning.models import (
    Allocation,
    Batch,
    BatchState,
    CustomerOrderState,
    Forecast,
    OrderLine,
    RunLine,
    RunLineSubstitute,
)
from planning.models.runs import OPEN_STATES
from planning.queries.demand import monday_of
from planning.queries.plan_kits import KnownItems
from planning.queries.plan_makes import Chosen, Makes


@dataclass(frozen=True, kw_only=True)
class OpenLine:
    """A line of an open run, with the substitutes that it uses."""

    line_id: int
    run_id: int
    code: str
    pack_on: date
    kit_id: int
    kits: int
    yeast_id: int | None
    chosen: Chosen


@dataclass(frozen=True, kw_only=True)
class OpenRuns:
    """Lines of the open runs; what the batches of those that have any still have to pack.

    ``left``: kits by line. ``held``: whole units by line and item.
    """

    lines: tuple[OpenLine, ...]
    left: Mapping[int, int]
    held: Mapping[tuple[int, int], int]


def open_runs() -> OpenRuns:
    """Return the open runs by pack day; four statements."""
    rows = RunLine.objects.filter(run__state__in=OPEN_STATES)
    found = list(
        rows.order_by("run__pack_on", "run__code", "position").values_list(
            "id", "run_id", "run__code", "run__pack_on", "kit_id", "kits", "yeast_id"
        )
    )
    chosen: dict[int, list[tuple[str, int]]] = defaultdict(list)
    used = RunLineSubstitute.objects.filter(run_line__run__state__in=OPEN_STATES).order_by("key")
    for line_id, key, substitute_id in used.values_list("run_line_id", "key", "substitute_id"):
        chosen[line_id].append((key, substitute_id))
    open_batches = Q(run_line__run__state__in=OPEN_STATES) & ~Q(state=BatchState.CANCELLED)
    left: dict[int, int] = defaultdict(int)
    for line_id, kits, state in Batch.objects.filter(open_batches).values_list(
        "run_line_id", "kits", "state"
    ):
        left[line_id] += kits if state == BatchState.RESERVED else 0
    held: dict[tuple[int, int], int] = defaultdict(int)
    allocations = Allocation.objects.filter(
        current=True,
        batch__state=BatchState.RESERVED,
        batch__run_line__run__state__in=OPEN_STATES,
    )
    for line_id, item_id, quantity in allocations.values_list(
        "batch__run_line_id", "lot__item_id", "quantity"
    ):
        held[line_id, item_id] += quantity
    return OpenRuns(
        lines=tuple(
            OpenLine(
                line_id=line_id,
                run_id=run_id,
                code=code,
                pack_on=pack_on,
                kit_id=kit_id,
                kits=kits,
                yeast_id=yeast_id,
                chosen=tuple(chosen.get(line_id, ())),
            )
            for line_id, run_id, code, pack_on, kit_id, kits, yeast_id in found
        ),
        left=dict(left),
        held=dict(held),
    )


@dataclass(frozen=True, kw_only=True)
class PlanRuns:
    """The open runs, in the places of a plan."""

    runs: tuple[PlanRun, ...]
    lines: tuple[PlanRunLine, ...]
    allotted: tuple[Allotted, ...]


def plan_runs(found: OpenRuns, known: KnownItems, makes: Makes) -> PlanRuns:
    """Return the open runs with the make of each of their lines."""
    place: dict[int, int] = {}
    runs: list[PlanRun] = []
    lines: list[PlanRunLine] = []
    run_of: dict[int, int] = {}
    for line in found.lines:
        if line.run_id not in place:
            place[line.run_id] = len(runs)
            runs.append(PlanRun(run_id=line.run_id, code=line.code, pack_on=line.pack_on))
        run_of[line.line_id] = place[line.run_id]
        kits = found.left.get(line.line_id, line.kits)
        if kits:
            lines.append(
                PlanRunLine(
                    run=place[line.run_id],
                    make=makes.make(line.kit_id, line.yeast_id, line.chosen),
                    kits=kits,
                    allotted=line.line_id in found.left,
                )
            )
    return PlanRuns(
        runs=tuple(runs),
        lines=tuple(lines),
        allotted=tuple(
            Allotted(run=run_of[line_id], item=known.place[item_id], quantity=quantity)
            for (line_id, item_id), quantity in found.held.items()
        ),
    )


@dataclass(frozen=True, kw_only=True)
class OpenOrder:
    """A line of a customer order that counts."""

    order_id: int
    code: str
    customer: str
    promised_on: date
    kit_id: int | None
    item_id: int | None
    yeast_id: int | None
    ordered: int
    left: int


def open_orders(first_week: date) -> tuple[OpenOrder, ...]:
    """Return what has not been dispatched, and all that is promised from a week on.

    What was dispatched has used up its forecast, of a cancelled order too. One statement.
    """
    open_ones = Q(order__state=CustomerOrderState.OPEN, quantity__gt=F("dispatched"))
    since = Q(order__promised_on__gte=first_week)
    rows = OrderLine.objects.filter(open_ones | since)
    rows = rows.exclude(order__state=CustomerOrderState.CANCELLED, dispatched=0)
    values = rows.order_by("order__promised_on", "order__code", "position").values_list(
        "order_id", "order__code", "order__customer", "order__promised_on", "kit_id", "item_id",
        "yeast_id", "quantity", "dispatched", "order__state",
    )  # fmt: skip
    return tuple(_open_order(*row) for row in values)


def _open_order(
    order_id: int,
    code: str,
    customer: str,
    promised_on: date,
    kit_id: int | None,
    item_id: int | None,
    yeast_id: int | None,
    quantity: int,
    dispatched: int,
    state: str,
) -> OpenOrder:
    return OpenOrder(
        order_id=order_id,
        code=code,
        customer=customer,
        promised_on=promised_on,
        kit_id=kit_id,
        item_id=item_id,
        yeast_id=yeast_id,
        ordered=dispatched if state == CustomerOrderState.CANCELLED else quantity,
        left=quantity - dispatched if state == CustomerOrderState.OPEN else 0,
    )


@dataclass(frozen=True, kw_only=True)
class PlanOrders:
    """Customer orders, in the places of a plan."""

    orders: tuple[PlanOrder, ...]
    lines: tuple[PlanOrderLine, ...]


def plan_orders(found: Iterable[OpenOrder], known: KnownItems, makes: Makes) -> PlanOrders:
    """Return the customer orders with the make of each of their lines."""
    place: dict[int, int] = {}
    orders: list[PlanOrder] = []
    lines: list[PlanOrderLine] = []
    for row in found:
        if row.order_id not in place:
            place[row.order_id] = len(orders)
            orders.append(
                PlanOrder(
                    order_id=row.order_id,
                    code=row.code,
                    customer=row.customer,
                    promised_on=row.promised_on,
                )
            )
        lines.append(
            PlanOrderLine(
                order=place[row.order_id],
                ordered=row.ordered,
                left=row.left,
                make=None if row.kit_id is None else makes.make(row.kit_id, row.yeast_id, ()),
                item=None if row.item_id is None else known.place[row.item_id],
            )
        )
    return PlanOrders(orders=tuple(orders), lines=tuple(lines))


Forecasts = Sequence[tuple[int, date, int]]
"""Kit, Monday and kits."""


def forecasts(first_week: date, until: date) -> Forecasts:
    """Return the forecast of the weeks from one to before a day; one statement."""
    rows = Forecast.objects.filter(week_on__gte=first_week, week_on__lt=until).order_by()
    return list(rows.values_list("kit_id", "week_on", "kits"))


def forecast_grid(
    found: Forecasts, place: Mapping[int, int], first_week: date, weeks: int
) -> IntArray:
    """Return the forecast by kit and week."""
    grid = np.zeros((len(place), weeks), dtype=np.int64)
    if found:
        kits, mondays, numbers = zip(*found, strict=True)
        column = {monday: (monday - first_week).days // 7 for monday in set(mondays)}
        np.add.at(grid, ([place[kit] for kit in kits], [column[day] for day in mondays]), numbers)
    return grid


def weeks_between(first_week: date, until: date) -> int:
    """Return how many weeks, each from its Monday, begin before a day."""
    return -(-(until - first_week).days // 7)


def first_week_of(today: date, back: int) -> date:
    """Return the Monday of the first week whose orders can use up the forecast that counts."""
    return monday_of(today) - timedelta(weeks=back)
