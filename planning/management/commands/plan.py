"""Print the plan: what is late, which runs it suggests, what to order."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from boxwort import figures
from boxwort.quantities import read_naturally
from boxwort.terminal import HouseCommand, day
from planning.queries.plan_rows import PlanPage, SuggestedRunRow, WaitingRow, plan_page


class Command(HouseCommand):
    help = (
        "Say what orders and forecast need in the coming weeks: what cannot be done in time and "
        "what can still be done about it, which runs to plan, and what to order by when."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--on", type=day, help="the day to plan from, as 2026-11-25 (today)")
        parser.add_argument("--units", choices=("metric", "us"), default="metric")

    def handle(self, *_: Any, **options: Any) -> None:
        plan = plan_page(options["on"] or timezone.localdate())
        for line in _told(plan, options["units"]):
            self.stdout.write(line)


def _told(plan: PlanPage, units: str) -> Iterator[str]:
    """Yield the plan as lines of text."""
    yield (
        f"Plan of {plan.purchases.producer} from {figures.on_date(plan.on)} to "
        f"{figures.on_date(plan.until)}"
    )
    yield from _late(plan, units)
    yield ""
    yield "Runs to plan" if plan.weeks else "No run to plan: stock and planned runs cover all."
    for week in plan.weeks:
        for run in week.runs:
            yield from _run(run)
    yield ""
    yield from _purchases(plan, units)


def _late(plan: PlanPage, units: str) -> Iterator[str]:
    if plan.short or plan.waiting or plan.purchases.unoffered:
        yield ""
        yield "Not in time"
    for row in plan.short:
        ready = f"on {figures.on_date(row.ready_on)}" if row.ready_on else "not at all"
        yield (
            f"  {row.kits} x {row.kit_code} for {row.named}, wanted on "
            f"{figures.on_date(row.wanted_on)}: {ready}. {row.reason}"
        )
    for found in plan.waiting:
        yield from _waiting(found, units)
    for item in plan.purchases.unoffered:
        yield f"  {read_naturally(item.net, item.measure, units)}: {item.remedy}"


def _waiting(row: WaitingRow, units: str) -> Iterator[str]:
    possible = f", about {row.possible} of {row.kits} kits possible" if row.kits else ""
    yield f"  {row.named} on {figures.on_date(row.on)}{possible}"
    for item in row.lacking:
        comes = f"here on {figures.on_date(item.usable_on)}" if item.usable_on else "not offered"
        amount = read_naturally(item.quantity, item.measure, units)
        yield f"    lacks {amount} of {item.item_name}, {comes}"
    for said in row.advice:
        yield f"    {said}"


def _run(run: SuggestedRunRow) -> Iterator[str]:
    yield f"  {figures.on_date(run.pack_on)}: {run.kits} kits"
    for line in run.lines:
        yield (
            f"    {line.kits:>5} x {line.kit_code:<20} {line.kit_name[:32]:<32} "
            f"needed on {figures.on_date(line.needed_on)}"
        )
        for said in line.reasons:
            yield f"    {'':<8}{said}"


def _purchases(plan: PlanPage, units: str) -> Iterator[str]:
    if not plan.to_order:
        yield "Nothing to order."
        return
    yield f"To order, {figures.money(plan.purchases.total, plan.purchases.currency)} in all"
    for supplier, line in plan.to_order:
        amount = read_naturally(line.quantity, line.measure, units)
        late = "  PAST DUE" if line.past_due else ""
        yield (
            f"  by {figures.on_date(line.order_by)}: {amount:>12} {line.item_code:<20} from "
            f"{supplier}, needed by {figures.on_date(line.need_by)}{late}"
        )
