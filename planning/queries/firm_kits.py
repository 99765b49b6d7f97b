"""Which run lines the firm customer orders wait for."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from django.db.models import F, Sum

from inventory.queries.lots import usable_lots
from planning.models import Batch, BatchState, CustomerOrderState, OrderLine, RunLine

Firm = Mapping[int, Mapping[date, int]]
"""By run line: kits that firm orders wait for, by promised day."""


def firm_kits(lines: Sequence[RunLine], today: date) -> Firm:
    """Return the kits of planned lines that firm orders wait for; three statements.

    An order is served by finished kits in stock and by batches that are reserved, then by the
    lines in the order of their days; the earliest promised order first. The lines' kits must have
    been read with them.
    """
    ordered = _ordered({line.kit_id for line in lines})
    ready = _ready({line.kit_id: line.kit.item_id for line in lines}, today)
    firm: dict[int, dict[date, int]] = {line.pk: {} for line in lines}
    for line in sorted(lines, key=lambda line: (line.run.pack_on, line.pk)):
        ordered[line.kit_id] = _after(ordered[line.kit_id], ready.pop(line.kit_id, 0))
        firm[line.pk] = dict(_first(ordered[line.kit_id], line.kits))
        ordered[line.kit_id] = _after(ordered[line.kit_id], line.kits)
    return firm


_Ordered = list[tuple[date, int]]


def _ordered(kit_ids: Iterable[int]) -> dict[int, _Ordered]:
    """Return by kit what is still to be dispatched, by promised day."""
    rows = (
        OrderLine.objects.filter(
            order__state=CustomerOrderState.OPEN,
            kit__in=list(kit_ids),
            quantity__gt=F("dispatched"),
        )
        .values("kit_id", "order__promised_on")
        .annotate(kits=Sum(F("quantity") - F("dispatched")))
        .order_by("order__promised_on")
    )
    ordered: dict[int, _Ordered] = defaultdict(list)
    for row in rows:
        ordered[row["kit_id"]].append((row["order__promised_on"], int(row["kits"])))
    return ordered


def _ready(items: Mapping[int, int], today: date) -> dict[int, int]:
    """Return by kit what is finished, and what batches have their stock for."""
    stocked = usable_lots(items.values(), today)
    ready = {
        kit: sum(lot.available for lot in stocked.get(item, ())) for kit, item in items.items()
    }
    reserved = (
        Batch.objects.filter(state=BatchState.RESERVED, run_line__kit__in=list(items))
        .values("run_line__kit_id")
        .annotate(reserved=Sum("kits"))
        .order_by("run_line__kit_id")
    )
    for row in reserved:
        ready[row["run_line__kit_id"]] += int(row["reserved"])
    return ready


def _first(ordered: _Ordered, kits: int) -> _Ordered:
    """Return what so many kits serve."""
    served: _Ordered = []
    for day, wanted in ordered:
        given = min(wanted, kits)
        kits -= given
        if given:
            served.append((day, given))
    return served


def _after(ordered: _Ordered, kits: int) -> _Ordered:
    """Return what so many kits leave to be served."""
    left: _Ordered = []
    for day, wanted in ordered:
        given = min(wanted, kits)
        kits -= given
        if wanted > given:
            left.append((day, wanted - given))
    return left
