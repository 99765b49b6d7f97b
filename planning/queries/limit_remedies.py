"""What would lift the limits that a kit met, from the lots at hand, in sentences with figures."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from planning.engine.kit_sheet import BoundKit, BoundLot
from planning.engine.limits import Limit
from planning.engine.lots import first_expired_first_out
from planning.engine.remedies import ApprovedSubstitute, remedies
from planning.queries.supply import House, KitNeeds, Stock, bound_lots, hop_line, hop_lots
from recipes.queries.bills import BillRow, SubstituteRow, with_substitutes


def told_remedies(
    limits: Sequence[Limit],
    *,
    needs: KitNeeds,
    stock: Stock,
    approved: Mapping[str, Sequence[SubstituteRow]],
    target_ibu: float,
    kits: int,
    pack_on: date,
    brew_on: date,
    rules: House,
) -> tuple[str, ...]:
    """Return what would let so many kits be packed, for each addition that is at a limit.

    Parameters
    ----------
    limits: of the kit from different lots; for each addition the first of them is lifted.
    stock: what other lines left of the lots, those of the approved substitutes among them.
    approved: frozen substitutes by key of the bill.
    """
    if not limits:
        return ()
    day = {"pack_on": pack_on, "brew_on": brew_on}
    lots = bound_lots(needs, stock, **day, rules=rules)
    hops = [row for row in needs.hops if row.substitute_id is None]
    stand_ins = {row.key: approved.get(row.key, ()) for row in hops}
    for substitute in (each for rows in stand_ins.values() for each in rows):
        lots[substitute.item_code] = hop_lots(substitute.item_id, stock, **day, rules=rules)
    kit = BoundKit(
        target_ibu=target_ibu,
        hop_lines=[hop_line(row) for row in needs.hops],
        bound_items={},
        resolution_mg=rules.resolution_mg,
        division_mg=rules.division_mg,
        most=rules.most,
        overage=needs.overage
        | {each.item_code: each.overage for rows in stand_ins.values() for each in rows},
    )
    candidates = {item: _usable(known, pack_on) for item, known in lots.items()}
    substitutes = {row.key: [_in_place(row, each) for each in stand_ins[row.key]] for row in hops}
    first = {limit.line: limit for limit in reversed(limits)}
    found = (
        remedy.sentence
        for limit in first.values()
        for remedy in remedies(
            limit,
            kit=kit,
            lots=dict(_met_with(limit, kit, candidates)),
            candidates=candidates,
            kits=kits,
            substitutes=substitutes,
        )
    )
    return tuple(dict.fromkeys(found))


def _usable(lots: Sequence[BoundLot], on: date) -> list[BoundLot]:
    return first_expired_first_out(lot for lot in lots if lot.usable(on))


def _met_with(
    limit: Limit, kit: BoundKit, candidates: Mapping[str, Sequence[BoundLot]]
) -> Iterator[tuple[str, BoundLot]]:
    """Yield the lot of each hop: the limit's own, and the oldest of the others."""
    for item in kit.items:
        lots = candidates[item]
        own = [lot for lot in lots if lot.code == limit.lot]
        if lots:
            yield item, (own or lots)[0]


def _in_place(row: BillRow, substitute: SubstituteRow) -> ApprovedSubstitute:
    (replaced,) = with_substitutes([row], {row.key: substitute})
    line = hop_line(replaced)
    return ApprovedSubstitute(
        item=line.item,
        name=line.name,
        ratio=substitute.ratio,
        reference_mg=line.reference_mg,
        reference_alpha=line.reference_alpha,
        ibu_per_gram=line.ibu_per_gram,
        minutes_table=line.minutes_table,
    )
