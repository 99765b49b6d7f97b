"""Write the purchase list as a workbook and print it as a table."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError, CommandParser
from django.utils import timezone

from boxwort import figures
from boxwort.quantities import read_naturally
from boxwort.terminal import HouseCommand, day
from planning.documents.purchase_list import purchase_list_xlsx
from planning.queries.purchasing import PurchasePlan, PurchaseRow, SupplierPlan, purchase_plan


class Command(HouseCommand):
    help = (
        "Say what to buy for planned and suggested runs, customers and safety stocks: from whom, "
        "in which packs, by when. Writes a workbook with a sheet for each supplier."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--out", type=Path, required=True, help="the .xlsx file to write")
        parser.add_argument("--on", type=day, help="the day to plan from, as 2026-11-25 (today)")
        parser.add_argument(
            "--planned", action="store_true", help="for planned runs only, not suggested ones"
        )
        parser.add_argument(
            "--until", type=day, help="only what must be ordered by this day (all of it)"
        )
        parser.add_argument("--units", choices=("metric", "us"), default="metric")

    def handle(self, *_: Any, **options: Any) -> None:
        on = options["on"] or timezone.localdate()
        plan = purchase_plan(on, suggested=not options["planned"], until=options["until"])
        data = purchase_list_xlsx(plan, made_at=timezone.now(), units=options["units"])
        try:
            options["out"].write_bytes(data)
        except OSError as problem:
            message = f"The list could not be written to {options['out']}: {problem.strerror}."
            raise CommandError(message) from problem
        for line in _told(plan, options["units"]):
            self.stdout.write(line)
        self.stdout.write(f"Written to {options['out']}.")


def _told(plan: PurchasePlan, units: str) -> Iterator[str]:
    """Yield the plan as lines of text."""
    yield f"Purchase list of {plan.producer} as of {figures.on_date(plan.on)}"
    if not plan.suppliers and not plan.unoffered:
        yield (
            "Nothing to buy: stock and orders cover every run."
            if plan.until is None
            else f"Nothing has to be ordered by {figures.on_date(plan.until)}."
        )
    if plan.later:
        yield f"{_lines(plan.later)} can be ordered later."
    for supplier in plan.suppliers:
        yield from _supplier(supplier, plan.currency, units)
    for row in plan.unoffered:
        yield ""
        yield f"{read_naturally(row.net, row.measure, units)} by {figures.on_date(row.need_by)}: "
        yield f"  {row.remedy}"
    if len(plan.suppliers) > 1:
        yield ""
        yield f"In all {figures.money(plan.total, plan.currency)}"


def _supplier(supplier: SupplierPlan, currency: str, units: str) -> Iterator[str]:
    yield ""
    yield (
        f"{supplier.supplier_name} ({supplier.supplier_code}): {_lines(len(supplier.lines))}, "
        f"{figures.money(supplier.total, currency)}, order by {figures.on_date(supplier.order_by)}"
    )
    for line in supplier.lines:
        yield from _line(line, currency, units)


def _lines(count: int) -> str:
    return "1 line" if count == 1 else f"{count} lines"


def _line(line: PurchaseRow, currency: str, units: str) -> Iterator[str]:
    packs = f"{line.packs} x {read_naturally(line.pack_quantity, line.measure, units)}"
    price = figures.money(line.cost, currency) if line.pack_price is not None else "no price"
    yield (
        f"  {line.item_code:<20} {line.item_name[:32]:<32} {packs:>16} {price:>14}"
        f"  order by {figures.on_date(line.order_by)}, need by {figures.on_date(line.need_by)}"
        f"  for {line.serves}"
    )
    for said in (*line.reasons, *line.advice):
        yield f"  {'':<20} {said}"
