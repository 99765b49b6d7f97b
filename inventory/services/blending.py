"""Blending: two or more lots of one item become one lot.

What is known of the blend is the mean of what is known of its parts, weighted by what went in of
each, as is: alpha acid of hops; extract, colour and enzyme power of grain, extract and sugar. Alpha
acid is that of each lot on the day, aged where it lay, so the blend's own ageing starts then. What
stands in for a lot without an analysis stands in here, too: its item's specification; where no lot
was measured, nothing is written. A storage index is not a thing to average and is left out.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date
from typing import TypeVar

from boxwort.accounts.models import User
from boxwort.accounts.services import service
from boxwort.errors import Refusal
from boxwort.quantities import Measure
from inventory.models import (
    Analysis,
    AnalysisKind,
    Conversion,
    ConversionKind,
    ItemKind,
    Lot,
    LotStatus,
    MaltSpec,
    PlaceKind,
)
from inventory.models.analyses import COMPUTED
from inventory.queries.grist import measured_lots
from inventory.queries.hops import Pouch, hop_lives
from inventory.services.balances import Lots, lock_lots
from inventory.services.conversions import input_cost
from inventory.services.entries import check_quantity, lot_facts
from inventory.services.lots import new_lot
from inventory.services.works import (
    Made,
    Taken,
    WorkMove,
    begin_work,
    check_loss,
    check_packing,
    finish_work,
    keeps_until,
    lost_of,
)

T = TypeVar("T")
_NO_POUCH = Pouch(temperature_c=20.0, packing="loose")  # no day is spent in it
_AVERAGED = {
    AnalysisKind.EXTRACT: "points_l_per_kg",
    AnalysisKind.COLOUR: "colour_lovibond",
    AnalysisKind.POWER: "power_lintner",
}
"""What is averaged of fermentables, by its name in what was measured and in a specification."""


@service
def blend_lots(
    *,
    by: User,
    taken: Sequence[Taken],
    made: Made,
    on: date,
    key: str,
    packing: str = "",
    reason: str = "",
) -> Conversion:
    """Blend two or more lots of one item into one. The same key again returns the same work.

    It keeps no longer than the first of its lots, and was packaged when the oldest was.

    Raises
    ------
    Refusal: the lots are not of one item, form and state (whole or crushed); the amounts do not
        add up; or the ledger refuses.
    """
    work, posting, again = begin_work(
        by=by,
        kind=ConversionKind.BLEND,
        occurred_on=on,
        key=key,
        asked={
            "taken": [[row.lot_id, row.quantity, row.place.pk] for row in taken],
            "made": [made.code, made.quantity, made.place.pk],
            "packing": packing,
        },
        reason=reason,
    )
    if again:
        return work
    lots = lock_lots(row.lot_id for row in taken)
    parts = _parts(taken, lots)
    _check_alike(list(lots.values()))
    item = next(iter(lots.values())).item
    check_packing(item, packing)
    check_quantity(made.quantity, "make")
    whole = sum(parts.values())
    lost = lost_of(item, taken=whole, made=made.quantity)
    check_loss(item, worked=whole, lost=lost, reason=reason)
    blend = _blend(work, lots, made, on, packing, input_cost(parts, lots))
    new_lot(blend)
    _write_analyses(by, blend, parts, lots, on)
    finish_work(
        by=by,
        conversion=work,
        posting=posting,
        moves=_moves(taken, lots, blend, made, lost),
        lots={**lots, blend.pk: blend},
        made=[blend],
        figures={"taken": {lots[pk].code: part for pk, part in parts.items()}, "lost": lost},
    )
    return work


def _parts(taken: Sequence[Taken], lots: Lots) -> dict[int, int]:
    """Return how much is taken of each lot, in the order of the lots."""
    parts = dict.fromkeys(sorted(lots), 0)
    for row in taken:
        check_quantity(row.quantity, f"take of lot {lots[row.lot_id].code}")
        parts[row.lot_id] += row.quantity
    if len(parts) < 2:
        raise Refusal(
            "blend-of-one",
            "A blend is made of two lots or more.",
            "Take of another lot too, or repack the one.",
        )
    return parts


def _check_alike(lots: Sequence[Lot]) -> None:
    first = lots[0]
    if first.item.measure == Measure.COUNT:
        raise Refusal(
            "work-does-not-fit",
            f"{first.item.name} is counted by the piece, and pieces cannot be blended.",
            "Keep the lots apart.",
            details=lot_facts(first),
        )
    for lot in lots[1:]:
        differing = _difference(first, lot)
        if differing:
            raise Refusal(
                "blend-of-unlike-lots",
                f"Lots {first.code} and {lot.code} are not of one {differing}.",
                "Blend lots of one item that are all whole or all crushed, and hops of one form.",
                details={**lot_facts(first), "other": lot.code},
            )


def _difference(one: Lot, other: Lot) -> str:
    if one.item_id != other.item_id:
        return f"item: {one.item.name} and {other.item.name}"
    if one.form != other.form:
        return "form"
    if (one.crushed_on is None) != (other.crushed_on is None):
        return "kind: one is whole and one is crushed"
    return ""


def _blend(
    work: Conversion, lots: Lots, made: Made, on: date, packing: str, cost_amount: int
) -> Lot:
    parts = list(lots.values())
    crushed_on, opened_on = (
        min((day for day in days if day), default=None)
        for days in ([lot.crushed_on for lot in parts], [lot.opened_on for lot in parts])
    )
    return Lot(
        code=made.code,
        item=parts[0].item,
        supplier=_one([lot.supplier for lot in parts]),
        supplier_lot=_one([lot.supplier_lot for lot in parts]) or "",
        received_on=on,
        packaged_on=min(lot.packaged_on or lot.received_on for lot in parts),
        best_before_on=keeps_until(
            parts[0].item,
            [lot.best_before_on for lot in parts],
            crushed_on=crushed_on,
            opened_on=opened_on,
        ),
        status=LotStatus.RELEASED,
        packing=packing,
        form=parts[0].form,
        crushed_on=crushed_on,
        opened_on=opened_on,
        made_by=work,
        cost_amount=cost_amount,
        cost_quantity=made.quantity,
    )


def _one(values: Sequence[T]) -> T | None:
    """Return what all of them are, or None where they differ."""
    return values[0] if all(value == values[0] for value in values) else None


def _moves(taken: Sequence[Taken], lots: Lots, blend: Lot, made: Made, lost: int) -> list[WorkMove]:
    """Return the moves: all of each lot goes into the blend, and what is lost is lost of that."""
    return [
        *(
            WorkMove(
                lot=lots[row.lot_id],
                quantity=row.quantity,
                start=row.place,
                end=PlaceKind.PRODUCTION,
            )
            for row in taken
        ),
        WorkMove(
            lot=blend, quantity=made.quantity + lost, start=PlaceKind.PRODUCTION, end=made.place
        ),
        WorkMove(lot=blend, quantity=lost, start=made.place, end=PlaceKind.WASTE),
    ]


def _write_analyses(by: User, blend: Lot, parts: Mapping[int, int], lots: Lots, on: date) -> None:
    rows = [
        Analysis(lot=blend, kind=kind, sampled_on=on, value=value, method=COMPUTED[0], by=by)
        for kind, value in _averages(parts, lots).items()
    ]
    if blend.item.kind == ItemKind.HOP:
        rows += _alpha(by, blend, parts, on)
    Analysis.objects.bulk_create(rows)


def _averages(parts: Mapping[int, int], lots: Lots) -> dict[AnalysisKind, float]:
    """Return the weighted mean of what was measured on one lot of a fermentable at least."""
    malt = MaltSpec.objects.filter(item=next(iter(lots.values())).item).first()
    if malt is None:
        return {}
    measured = measured_lots(parts)
    found = {}
    for kind, name in _AVERAGED.items():
        readings = [getattr(measured[lot_id], name) for lot_id in parts]
        if any(reading is not None for reading in readings):
            usual = getattr(malt, name)
            values = [usual if reading is None else reading for reading in readings]
            found[kind] = _mean(values, list(parts.values()))
    return found


def _alpha(by: User, blend: Lot, parts: Mapping[int, int], on: date) -> list[Analysis]:
    """Return the alpha acid of the blend with its spread, of what each lot holds on the day."""
    lives = hop_lives(parts)
    if not lives.starts:
        return []
    alphas = [lives.on(lot_id, pack_on=on, brew_on=on, pouch=_NO_POUCH) for lot_id in parts]
    weights = list(parts.values())
    mean = _mean([alpha.alpha for alpha in alphas], weights)
    errors = [
        alpha.alpha * alpha.spread * weight for alpha, weight in zip(alphas, weights, strict=True)
    ]
    return [
        Analysis(
            lot=blend,
            kind=AnalysisKind.ALPHA,
            sampled_on=on,
            value=mean,
            spread=math.hypot(*errors) / sum(weights) / mean if mean else None,
            method=COMPUTED[0],
            by=by,
        )
    ]


def _mean(values: Sequence[float], weights: Sequence[int]) -> float:
    return math.fsum(v * w for v, w in zip(values, weights, strict=True)) / sum(weights)
