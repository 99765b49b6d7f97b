"""The planned runs of a horizon and the lots that nobody has reserved, as the engine sees them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Sum
from django.utils import timezone

from boxwort.accounts.services import fingerprint
from inventory.queries.lots import UsableLot, usable_lots
from planning.engine.horizon import Horizon, PackLine, in_order
from planning.engine.kit_sheet import BoundLot
from planning.engine.lots import LotSupply
from planning.engine.pitching import pitched_share
from planning.models import Allocation, RunLine, RunState
from planning.queries.bound_kits import bound_kit
from planning.queries.chosen_substitutes import chosen_substitutes
from planning.queries.firm_kits import firm_kits
from planning.queries.supply import (
    House,
    KitNeeds,
    Stock,
    bound_lots,
    brew_day,
    house,
    kit_needs,
    known_stock,
)
from recipes.queries.bills import BillRow, bill_substitutes, bills_of


@dataclass(frozen=True, kw_only=True)
class RunsAhead:
    """The run lines of a horizon, and everything that choosing their lots depends on.

    ``inputs`` is marks by name (a lot, a run line, the house rules): where one is another, or is
    gone, an answer was made for something else.
    """

    horizon: Horizon
    lines: Mapping[int, RunLine]
    inputs: Mapping[str, str]


def runs_ahead(until_on: date, settled: Sequence[int] = ()) -> RunsAhead:
    """Return the planned runs up to a day; as many statements for one run as for a hundred.

    ``settled`` is runs that were reserved since an answer was made: what their batches hold
    counts as available in ``inputs``, and nowhere else.
    """
    today = timezone.localdate()
    lines = list(
        RunLine.objects.filter(run__state=RunState.PLANNED, run__pack_on__lte=until_on)
        .select_related("run", "kit__item")
        .order_by("run__pack_on", "run__code", "position")
    )
    needs = _needs(lines)
    rules = house()
    items = {row.item_id for need in needs.values() for row in need.rows}
    stock = known_stock(usable_lots(sorted(items), today))
    firm = firm_kits(lines, today)
    packed = [_pack_line(line, needs[line.pk], stock, rules, firm[line.pk]) for line in lines]
    return RunsAhead(
        horizon=Horizon(lines=in_order(packed), divisible=_divisible(needs.values(), stock)),
        lines={line.pk: line for line in lines},
        inputs=_inputs(packed, stock, rules, settled),
    )


def _needs(lines: Sequence[RunLine]) -> dict[int, KitNeeds]:
    kit_ids = {line.kit_id for line in lines}
    bills, approved = bills_of(kit_ids), bill_substitutes(kit_ids)
    chosen = chosen_substitutes(lines, approved)
    return {
        line.pk: kit_needs(bills[line.kit_id], line.yeast_id, chosen.get(line.pk)) for line in lines
    }


def _pack_line(
    line: RunLine, needs: KitNeeds, stock: Stock, rules: House, firm: Mapping[date, int]
) -> PackLine:
    pack_on = line.run.pack_on
    brew_on = brew_day(pack_on, line.kit.shelf_days)
    lots = bound_lots(needs, stock, pack_on=pack_on, brew_on=brew_on, rules=rules)
    divisible: dict[str, list[int]] = {}
    for row in needs.divisible:
        divisible.setdefault(row.item_code, []).append(row.packed)
    return PackLine(
        line=line.pk,
        on=pack_on,
        kits=line.kits,
        kit=bound_kit(line.kit, needs, rules),
        lots=lots,
        minimum_kits=rules.minimum_kits,
        divisible=divisible,
        firm=firm,
        weak=_weak(needs.yeast, lots, stock, rules, pack_on, brew_on)
        if needs.yeast
        else frozenset(),
    )


def _weak(
    row: BillRow,
    lots: Mapping[str, Sequence[BoundLot]],
    stock: Stock,
    rules: House,
    pack_on: date,
    brew_on: date,
) -> frozenset[int]:
    """Return the yeast lots that pitch the floor, and less than the target."""
    weak = set()
    for lot in lots[row.item_code]:
        alive = stock.yeasts.pitched_on(lot.lot, pack_on, brew_on, rules.journey)
        target = alive.target_share if row.pitch_target is None else row.pitch_target
        pitched = pitched_share(
            packs=row.packed, living=alive.share, fill=alive.fill, asked=row.exact
        )
        if pitched < target:
            weak.add(lot.lot)
    return frozenset(weak)


def _divisible(needs: Any, stock: Stock) -> dict[str, list[LotSupply]]:
    rows = {row.item_code: row for need in needs for row in need.divisible}
    return {code: stock.supply(row) for code, row in rows.items()}


def _inputs(
    lines: Sequence[PackLine], stock: Stock, rules: House, settled: Sequence[int]
) -> dict[str, str]:
    held = _held(settled)
    marks = {"rules": _mark(repr(rules))}
    for lots in stock.lots.values():
        for lot in lots:
            marks[f"lot {lot.lot_id}"] = _mark(_lot_facts(lot, held.get(lot.lot_id, 0)))
    for line in lines:
        alphas = sorted(
            (lot.lot, round(lot.effective_alpha, 6)) for lots in line.lots.values() for lot in lots
        )
        marks[f"line {line.line}"] = _mark(
            [line.on.isoformat(), line.kits, repr(line.kit), alphas, sorted(line.weak)]
        )
    return marks


def _lot_facts(lot: UsableLot, held: int) -> list[Any]:
    return [lot.available + held, str(lot.received_on), str(lot.best_before_on)]


def _held(runs: Sequence[int]) -> dict[int, int]:
    """Return by lot what the batches of these runs hold or have taken."""
    rows = (
        Allocation.objects.filter(current=True, batch__run_line__run__in=list(runs))
        .values("lot_id")
        .annotate(held=Sum("quantity"))
        .order_by("lot_id")
    )
    return {row["lot_id"]: int(row["held"]) for row in rows}


def _mark(facts: Any) -> str:
    return fingerprint({"facts": facts})[:16]
