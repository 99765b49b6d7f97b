"""Every piece of work asked again: what it took, made, lost and cost, and what it says of its lots.

Work gives out what went into it, and its lots carry what that cost; each lot names the work that
made it and, where it goes on from one, a lot that went into that work; none keeps longer than what
it was made of; kits that are broken down give back no more than was packed.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from math import floor

from django.db.models import Count

from inventory.models import (
    WORKS,
    Conversion,
    ConversionKind,
    ConversionState,
    Lot,
    Move,
    PlaceKind,
)
from inventory.models.routes import OF_WORK

_MAKES_NOTHING = {ConversionKind.TRIAL, ConversionKind.DISPATCH}
"""A trial is drunk, not kept; a dispatch leaves the house."""
_OF_ONE_LOT = {ConversionKind.REPACK, ConversionKind.MILL, ConversionKind.DECANT}
_Lots = Mapping[int, Lot]


@dataclass(kw_only=True)
class _Posted:
    """What the one posting of a piece of work moved, by lot; ``back`` if that was taken back."""

    back: bool = False
    taken: Counter[int] = field(default_factory=Counter)
    used: Counter[int] = field(default_factory=Counter)
    made: Counter[int] = field(default_factory=Counter)


def work_differences() -> Iterator[str]:
    """Yield a plain sentence for everything about work that does not agree; four statements."""
    over = Conversion.objects.exclude(state=ConversionState.OPEN)
    left_open = over.filter(reservations__ended_at__isnull=True, reservations__isnull=False)
    for code, count in left_open.annotate(n=Count("reservations")).values_list("code", "n"):
        yield f"Work {code} is over and still has {count} open reservations."
    lots = Lot.objects.in_bulk()
    posted = _posted(lots)
    works = Conversion.objects.in_bulk()
    outputs: dict[int, list[Lot]] = defaultdict(list)
    for lot in lots.values():
        if lot.made_by_id is not None:
            outputs[lot.made_by_id].append(lot)
    for work_id, work in sorted(works.items()):
        moved = posted.get(work_id)
        yield from _state_differences(work, moved)
        yield from _naming_differences(work, moved or _Posted(), outputs[work_id], lots)
        if moved is not None and not moved.back:
            yield from _made_differences(work, moved, outputs[work_id])
            yield from _cost_differences(work, moved, outputs[work_id], lots)
            yield from _opened_differences(work, moved, lots)
    for lot in sorted(lots.values(), key=lambda lot: lot.pk):
        maker = works.get(lot.made_by_id or 0)
        yield from _origin_differences(lot, maker, posted, lots)
    yield from _given_back_differences(works, posted, lots)


def _posted(lots: _Lots) -> dict[int, _Posted]:
    moves = Move.objects.filter(posting__kind__in=OF_WORK, posting__conversion__isnull=False)
    found: dict[int, _Posted] = defaultdict(_Posted)
    rows = moves.order_by("posting", "pk").values_list(
        "posting__conversion",
        "posting__reversed_by",
        "lot",
        "quantity",
        "from_place__kind",
        "to_place__kind",
    )
    for work, reversal, lot, quantity, start, end in rows.iterator():
        posted = found[work]
        posted.back = reversal is not None
        if start == PlaceKind.PRODUCTION:
            posted.made[lot] += quantity
        elif lots[lot].made_by_id != work or end == PlaceKind.PRODUCTION:
            posted.taken[lot] += quantity
        if end == PlaceKind.PRODUCTION:
            posted.used[lot] += quantity
    return dict(found)


def _state_differences(work: Conversion, moved: _Posted | None) -> Iterator[str]:
    done, stands = work.state == ConversionState.DONE, moved is not None and not moved.back
    if done and not stands:
        yield f"Work {work.code} is done, and no posting of it stands."
    if stands and not done:
        state = work.get_state_display().lower()
        yield f"Work {work.code} is {state}, and its posting stands."


def _naming_differences(
    work: Conversion, moved: _Posted, outputs: list[Lot], lots: _Lots
) -> Iterator[str]:
    named = {lot.pk for lot in outputs}
    for lot_id in sorted(moved.made.keys() - named):
        yield f"Work {work.code} made lot {lots[lot_id].code}, which does not name it."
    for lot_id in sorted(named - moved.made.keys()):
        yield (
            f"Lot {lots[lot_id].code} names work {work.code}, and none of the postings of that "
            "work made it."
        )


def _made_differences(work: Conversion, moved: _Posted, outputs: list[Lot]) -> Iterator[str]:
    if not outputs and work.kind not in _MAKES_NOTHING:
        yield f"Work {work.code} is done and made no lot."
    if work.kind in set(WORKS) - {ConversionKind.BREAK_DOWN}:
        difference = moved.used.total() - moved.made.total()
        if difference:
            yield f"Work {work.code} took {difference} more than it gave out and lost."


def _cost_differences(
    work: Conversion, moved: _Posted, outputs: list[Lot], lots: _Lots
) -> Iterator[str]:
    """Yield work whose lots do not carry what it took, rounded half up once."""
    if not outputs:
        return
    exact = sum(
        (
            Fraction(lots[lot_id].cost_amount * quantity, lots[lot_id].cost_quantity)
            for lot_id, quantity in moved.taken.items()
            if lots[lot_id].cost_quantity
        ),
        start=Fraction(0),
    )
    wanted, found = floor(exact + Fraction(1, 2)), sum(lot.cost_amount for lot in outputs)
    if wanted != found:
        yield f"The lots of work {work.code} cost {found}, and what it took cost {wanted}."


def _opened_differences(work: Conversion, moved: _Posted, lots: _Lots) -> Iterator[str]:
    if work.opened_lot_id is None:
        return
    lot = lots[work.opened_lot_id]
    if lot.pk not in moved.taken.keys() | moved.made.keys():
        yield f"Work {work.code} says it opened lot {lot.code}, which it neither took nor made."
    elif lot.opened_on is None:
        yield f"Work {work.code} opened lot {lot.code}, which does not count as opened."


def _origin_differences(
    lot: Lot, maker: Conversion | None, posted: Mapping[int, _Posted], lots: _Lots
) -> Iterator[str]:
    """Yield a lot that goes on from one it was not made of, or keeps longer than that does."""
    kind = maker.kind if maker else ""
    moved = posted.get(maker.pk if maker else 0, _Posted())
    sources = set(moved.taken)
    if kind == ConversionKind.BREAK_DOWN:
        kits = (posted.get(lots[pk].made_by_id or 0, _Posted()) for pk in moved.taken)
        sources = {pk for packed in kits for pk in packed.taken}
    goes_on = kind in _OF_ONE_LOT or kind == ConversionKind.BREAK_DOWN
    if goes_on != (lot.from_lot_id is not None) or (goes_on and lot.from_lot_id not in sources):
        code = lots[lot.from_lot_id].code if lot.from_lot_id else "none"
        yield f"Lot {lot.code} goes on from {code}, of which the work that made it did not make it."
        return
    if not goes_on and kind != ConversionKind.BLEND:
        return
    for pk in sorted(sources if kind == ConversionKind.BLEND else {lot.from_lot_id or 0}):
        until = lots[pk].best_before_on
        opened_since = lots[pk].opened_on is not None and lots[pk].opened_on != lot.opened_on
        if until is None or opened_since:
            continue
        if lot.best_before_on is None or lot.best_before_on > until:
            yield (
                f"Lot {lot.code} is best before {lot.best_before_on}, and was made of lot "
                f"{lots[pk].code}, which is best before {until}."
            )


def _given_back_differences(
    works: Mapping[int, Conversion], posted: Mapping[int, _Posted], lots: _Lots
) -> Iterator[str]:
    """Yield kits that gave back more of a lot than was packed."""
    given: dict[int, Counter[int]] = defaultdict(Counter)
    for work_id, moved in posted.items():
        if works[work_id].kind == ConversionKind.BREAK_DOWN and not moved.back:
            for kits in moved.taken:
                given[kits].update(
                    {lots[pk].from_lot_id or 0: quantity for pk, quantity in moved.made.items()}
                )
    for kits, back in sorted(given.items()):
        packed = posted.get(lots[kits].made_by_id or 0, _Posted()).taken
        for pk, quantity in sorted(back.items()):
            if pk in lots and quantity > packed[pk]:
                yield (
                    f"Kits of lot {lots[kits].code} gave back {quantity} of lot {lots[pk].code}, "
                    f"and {packed[pk]} was packed."
                )
