"""What re-balancing would change in the reserved batches of a kit, worked out from today's lots.

Pure reading: the job computes this outside any transaction and writes it through a service.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.db.models import F, Q
from django.utils import timezone

from boxwort.accounts.services import fingerprint
from boxwort.quantities import Measure, read_naturally
from inventory.models import Ending, LotStatus
from inventory.queries.lots import UsableLot, usable_lots
from planning.engine.allotment import Allotment, BatchDraw, allot
from planning.engine.balance import Balance
from planning.engine.kit_sheet import BoundLot
from planning.engine.lots import drawn
from planning.models import Allocation, Batch, BatchState
from planning.queries.batches import Trouble, current_allocations, troubles
from planning.queries.chosen_substitutes import chosen_substitutes, stand_in_items
from planning.queries.limit_remedies import told_remedies
from planning.queries.supply import (
    House,
    KitNeeds,
    Stock,
    bound_lots,
    frozen_id,
    hop_line,
    house,
    kit_needs,
    known_stock,
    own_target,
    weighing_day,
)
from recipes.queries.bills import BillRow, SubstituteRow, bill_of, bill_substitutes


@dataclass(frozen=True, kw_only=True)
class Change:
    """A batch as re-balancing would have it.

    ``rows`` are plain values (see :class:`planning.models.Proposal`), bound lines first.
    ``impossible`` says why no proposal can be made, and is empty when there is one.
    """

    batch_id: int
    batch_version: int
    rows: tuple[dict[str, Any], ...]
    balance: Balance | None
    impossible: str = ""

    @property
    def changes_something(self) -> bool:
        """Whether a lot, a weight or a boil time differs from the sheet, or a lot was lost."""
        return any(
            row["lost"]
            or any(row[f"old{of}"] != row[f"new{of}"] for of in ("_lot", "", "_minutes"))
            for row in self.rows
        )

    @property
    def fingerprint(self) -> str:
        """The same change of the same version of a batch has the same mark."""
        return fingerprint({"version": self.batch_version, "rows": self.rows})


def open_batches(kit_id: int) -> list[Batch]:
    """Return the kit's batches that are reserved and not packed, with their run."""
    rows = Batch.objects.filter(run_line__kit_id=kit_id, state=BatchState.RESERVED)
    return list(rows.select_related("run_line__run", "run_line__kit__item").order_by("pk"))


def kits_touched(*, lot_id: int) -> list[int]:
    """Return the kits with a reserved batch that holds a lot."""
    return _kits_of(Q(lot_id=lot_id))


def kits_in_trouble(*, item_id: int) -> list[int]:
    """Return the kits with a reserved batch whose lot of an item cannot be used as it stands.

    Its reservation was lost, the lot is not released, or it expires before it can be packed.
    """
    trouble = (
        Q(reservation__ending=Ending.LOST)
        | ~Q(lot__status=LotStatus.RELEASED)
        | Q(lot__best_before_on__lt=F("batch__run_line__run__pack_on"))
        | Q(lot__best_before_on__lt=timezone.localdate())
    )
    return _kits_of(trouble & Q(lot__item_id=item_id))


def kits_with_conversions(conversion_ids: Iterable[int]) -> list[int]:
    """Return the kits of the reserved batches that these conversions belong to."""
    return _kits_of(Q(batch__conversion_id__in=list(conversion_ids)))


def kits_with_batches() -> list[int]:
    """Return every kit with a reserved batch."""
    return _kits_of(Q())


def kits_of_run(run_id: int) -> list[int]:
    """Return the kits of a run that have a reserved batch in it."""
    return _kits_of(Q(batch__run_line__run_id=run_id))


def _kits_of(condition: Q) -> list[int]:
    held = Allocation.objects.filter(
        condition, current=True, batch__state=BatchState.RESERVED
    ).values_list("batch__run_line__kit_id", flat=True)
    return sorted(set(held))


def change_of(batch: Batch) -> Change:
    """Return what today's analyses and lots would change in one batch.

    Lines keep their lots unless a lot cannot be used any more; then the oldest single lot that
    holds the whole batch takes its place.
    """
    rules = house()
    line = batch.run_line
    approved = bill_substitutes([line.kit_id])
    chosen = chosen_substitutes([line], approved)[line.pk]
    needs = kit_needs(bill_of(line.kit_id), line.yeast_id, chosen)
    held = current_allocations([batch.pk])
    bad = {trouble.allocation_id: trouble for trouble in troubles([batch])}
    stock = _stock_beside(needs, held, bad, batch, also=stand_in_items(approved))
    bound, balance, impossible = _bound_rows(
        batch, needs, held, stock, rules, approved[line.kit_id]
    )
    if impossible or balance is None:
        return _change(batch, (), balance, impossible)
    divisible, impossible = _divisible_rows(needs, held, bad, stock, batch)
    return _change(batch, (*bound, *divisible), balance, impossible)


def _change(
    batch: Batch, rows: Iterable[dict[str, Any]], balance: Balance | None, impossible: str
) -> Change:
    return Change(
        batch_id=batch.pk,
        batch_version=batch.version,
        rows=tuple(rows),
        balance=balance,
        impossible=impossible,
    )


def _stock_beside(
    needs: KitNeeds,
    held: list[Allocation],
    bad: dict[int, Trouble],
    batch: Batch,
    also: Iterable[int],
) -> Stock:
    """Return the usable stock, with what the batch holds of good lots counted as its own."""
    item_ids = {row.item_id for row in needs.rows}.union(also)
    lots = usable_lots(sorted(item_ids), weighing_day(batch.run_line.run.pack_on))
    for row in held:
        if row.pk in bad:
            continue
        known = lots.setdefault(row.lot.item_id, [])
        at = next((i for i, lot in enumerate(known) if lot.lot_id == row.lot_id), None)
        if at is None:
            known.append(_own(row))
        else:
            known[at] = replace(known[at], available=known[at].available + row.quantity)
    return known_stock(lots)


def _own(row: Allocation) -> UsableLot:
    return UsableLot(
        lot_id=row.lot_id,
        code=row.lot.code,
        available=row.quantity,
        best_before_on=row.lot.best_before_on,
        received_on=row.lot.received_on,
        packaged_on=row.lot.packaged_on,
    )


def _bound_rows(
    batch: Batch,
    needs: KitNeeds,
    held: list[Allocation],
    stock: Stock,
    rules: House,
    approved: Mapping[str, Sequence[SubstituteRow]],
) -> tuple[list[dict[str, Any]], Balance | None, str]:
    run = batch.run_line.run
    by_key = {row.bill_line.key: row for row in held}
    candidates = bound_lots(needs, stock, pack_on=run.pack_on, brew_on=batch.brew_on, rules=rules)
    own_lots = {row.lot_id for row in held}
    kept = {
        item: [lot for lot in lots if lot.lot in own_lots] or lots
        for item, lots in candidates.items()
    }
    allotted = _in_one_batch(batch, needs, by_key, kept, rules)
    if allotted.kits < batch.kits:
        allotted = _in_one_batch(batch, needs, by_key, candidates, rules)
    if len(allotted.batches) != 1 or allotted.kits < batch.kits:
        remedies = told_remedies(
            allotted.limits,
            needs=needs,
            stock=stock,
            approved=approved,
            target_ibu=own_target(batch.run_line.kit, needs),
            kits=batch.kits,
            pack_on=run.pack_on,
            brew_on=batch.brew_on,
            rules=rules,
        )
        return [], None, _why_not(batch, needs, allotted, remedies)
    (cut,) = allotted.batches
    rows = {row.key: row for row in needs.rows}
    if needs.yeast:
        rows[needs.yeast.item_code] = needs.yeast
    codes = {lot.lot: lot.code for lots in candidates.values() for lot in lots}
    return (
        [
            _bound_row(
                draw,
                rows[draw.line],
                by_key.get(rows[draw.line].key),
                codes[draw.lot],
                cut.balance,
            )
            for draw in cut.draws
            if draw.quantity or rows[draw.line].key in by_key
        ],
        cut.balance,
        "",
    )


def _in_one_batch(
    batch: Batch,
    needs: KitNeeds,
    by_key: Mapping[str, Allocation],
    lots_by_item: Mapping[str, list[BoundLot]],
    rules: House,
) -> Allotment:
    return allot(
        kits=batch.kits,
        hop_lines=[hop_line(row) for row in needs.hops],
        bound_items={needs.yeast.item_code: needs.yeast.packed} if needs.yeast else {},
        lots_by_item=lots_by_item,
        on=batch.run_line.run.pack_on,
        target_ibu=own_target(batch.run_line.kit, needs),
        resolution_mg=rules.resolution_mg,
        minimum_kits=batch.kits,
        overage=needs.overage,
        current_mg={
            row.key: by_key[row.key].per_kit if row.key in by_key else 0 for row in needs.hops
        },
        current_minutes={
            row.key: boil_minutes(row, by_key.get(row.key))
            for row in needs.hops
            if row.minutes_table
        },
        division_mg=rules.division_mg,
        most=rules.most,
    )


def boil_minutes(row: BillRow, own: Allocation | None) -> int:
    """Return the boil minutes of an addition in a batch: its own, or the recipe's."""
    return row.minutes if own is None or own.minutes is None else own.minutes


def _bound_row(
    draw: BatchDraw,
    row: BillRow,
    own: Allocation | None,
    code: str,
    balance: Balance,
) -> dict[str, Any]:
    weighed = next((line for line in balance.rows if line.line == row.key), None)
    return {
        **_named(row),
        "old_lot": own.lot.code if own else "",
        "new_lot_id": draw.lot,
        "new_lot": code,
        "lost": own is not None and own.reservation.ended_at is not None,
        "old": own.per_kit if own else 0,
        "new": draw.per_kit,
        "quantity": draw.quantity,
        "old_alpha": own.alpha if own else None,
        "new_alpha": weighed.alpha if weighed else None,
        "old_minutes": weighed.minutes_before if weighed else None,
        "new_minutes": weighed.minutes_after if weighed else None,
        "ibu_unchanged": weighed.ibu_before if weighed else 0.0,
        "ibu_corrected": weighed.ibu_after if weighed else 0.0,
    }


def _divisible_rows(
    needs: KitNeeds,
    held: list[Allocation],
    bad: dict[int, Trouble],
    stock: Stock,
    batch: Batch,
) -> tuple[list[dict[str, Any]], str]:
    """Return rows for divisible lines of which a lot cannot be used any more, drawn afresh."""
    rows: list[dict[str, Any]] = []
    for row in needs.divisible:
        own = [allocation for allocation in held if allocation.bill_line.key == row.key]
        if not any(allocation.pk in bad for allocation in own):
            continue
        needed = sum(allocation.quantity for allocation in own)
        draw = drawn(needed, stock.supply(row), batch.run_line.run.pack_on)
        if draw.short:
            short = read_naturally(draw.short, Measure(row.measure))
            return [], f"Batch {batch.code}: usable lots of {row.item_name} are {short} short."
        stock.take(dict(draw.rows))
        codes = {lot.lot_id: lot.code for lot in stock.lots[row.item_id]}
        rows += [
            {
                **_named(row),
                "old_lot": ", ".join(allocation.lot.code for allocation in own),
                "new_lot_id": lot_id,
                "new_lot": codes[lot_id],
                "lost": any(allocation.reservation.ended_at for allocation in own),
                "old": row.packed,
                "new": row.packed,
                "quantity": quantity,
                "old_alpha": None,
                "new_alpha": None,
                "old_minutes": None,
                "new_minutes": None,
                "ibu_unchanged": 0.0,
                "ibu_corrected": 0.0,
            }
            for lot_id, quantity in draw.rows
        ]
    return rows, ""


def _named(row: BillRow) -> dict[str, Any]:
    return {
        "key": row.key,
        "bill_line_id": frozen_id(row),
        "item_code": row.item_code,
        "item_name": row.item_name,
        "measure": str(row.measure),
        "use": row.use,
        "minutes": row.minutes,
        "role": row.role,
    }


def _why_not(batch: Batch, needs: KitNeeds, allotted: Allotment, remedies: Sequence[str]) -> str:
    names = {row.item_code: row.item_name for row in needs.rows}
    lacking = ", ".join(names[row.item] for row in allotted.short)
    told = " ".join([*(f"{limit.what} {limit.remedy}" for limit in allotted.limits), *remedies])
    what = f"no single usable lot of {lacking} holds" if lacking else "no set of lots holds"
    return f"Batch {batch.code}: {what} all {batch.kits} kits. {told}".strip()
