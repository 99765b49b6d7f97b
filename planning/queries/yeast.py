"""Yeast freshness: what each lot still gives, which runs it can serve, and until when.

A lot is judged on pitch day, the pack day plus the kit's shelf allowance. With the packs on the
kit's bill it *serves* at the strain's target or above; below target a starter or more packs are
advised; below the floor it is refused.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from django.utils import timezone

from boxwort.figures import on_date
from boxwort.working import Working
from inventory.models import ItemKind, Lot, LotStatus, YeastForm
from inventory.queries.yeasts import LotViability, YeastLives, yeast_lives
from planning.engine.pitching import last_day, packs_for, pitch, pitched_share
from planning.models import RunLine, RunState
from planning.queries.supply import brew_day
from recipes.models import KitBillLine


class Verdict(StrEnum):
    """Whether a lot may serve a run."""

    SERVES = "serves"
    BELOW_TARGET = "below target"
    REFUSED = "refused"


@dataclass(frozen=True, kw_only=True)
class YeastRunRow:
    """A lot judged for one run line.

    Attributes
    ----------
    packs: on the kit's bill, for each kit.
    living: living share of the yeast on pitch day, 0-1.
    pitched: share of the asked pitch that the bill's packs give then, with ``working``.
    packs_to_target: packs for each kit that reach the target; None: the yeast is dead by then.
    enough: whether the lot on hand holds ``packs_to_target`` for every kit of the line.
    advice: what to do, or why it is refused; empty when it serves.
    """

    run_code: str
    kit_code: str
    kit_name: str
    kits: int
    pack_on: date
    pitch_on: date
    packs: int
    living: float
    pitched: float
    packs_to_target: int | None
    enough: bool
    verdict: Verdict
    advice: str
    working: Working


@dataclass(frozen=True, kw_only=True)
class YeastKitRow:
    """How long a lot can serve one kit with the packs on its bill; None: not even today.

    ``full_until`` and ``serves_until`` are the last pitch days at target and at floor.
    ``pack_until`` is the last day the kit may be packed with it.
    """

    kit_code: str
    kit_name: str
    packs: int
    full_until: date | None
    serves_until: date | None
    pack_until: date | None


@dataclass(frozen=True, kw_only=True)
class YeastLotRow:
    """A yeast lot today: packs on hand and reserved, and its living share with the working."""

    lot_id: int
    code: str
    item_code: str
    item_name: str
    form: str
    status: LotStatus
    expired: bool
    packaged_on: date | None
    best_before_on: date | None
    on_hand: int
    reserved: int
    living: float
    cells_per_pack: float
    working: Working
    runs: tuple[YeastRunRow, ...]
    kits: tuple[YeastKitRow, ...]


_STANDING = {
    LotStatus.QUARANTINE: "in quarantine",
    LotStatus.ON_HOLD: "on hold",
    LotStatus.REJECTED: "rejected",
}


@dataclass(frozen=True, kw_only=True)
class _Judge:
    """One lot on one day after another."""

    lot: Lot
    lives: YeastLives
    today: date

    def on(self, day: date) -> LotViability:
        return self.lives.on(self.lot.pk, day)

    def pitched(self, option: KitBillLine, day: date) -> float:
        alive = self.on(day)
        return pitched_share(
            packs=option.packed, living=alive.share, fill=alive.fill, asked=option.exact
        )


def yeast_rows(on: date | None = None) -> tuple[YeastLotRow, ...]:
    """Return every yeast lot on hand, the one that expires first at the top, as of ``on``."""
    today = on or timezone.localdate()
    lots = list(
        Lot.objects.filter(
            item__kind=ItemKind.YEAST, item__yeast__isnull=False, stock__on_hand__gt=0
        ).select_related("item__yeast", "stock")
    )
    lots.sort(key=lambda lot: (lot.item.code, lot.best_before_on or date.max, lot.code))
    lives = yeast_lives([lot.pk for lot in lots])
    options = _options_by_kit()
    lines = _lines_by_yeast(options)
    kits: dict[int, list[KitBillLine]] = defaultdict(list)
    for option in (option for found in options.values() for option in found):
        if option.kit.offered:
            kits[option.item_id].append(option)
    return tuple(
        _row(_Judge(lot=lot, lives=lives, today=today), lines[lot.item_id], kits[lot.item_id])
        for lot in lots
    )


def _options_by_kit() -> dict[int, list[KitBillLine]]:
    """Return the yeast options of every frozen bill, the usual one first."""
    found: dict[int, list[KitBillLine]] = defaultdict(list)
    rows = KitBillLine.objects.filter(is_yeast_option=True).select_related("kit__item")
    for row in rows.order_by("kit__item__code", "position"):
        found[row.kit_id].append(row)
    return found


def _lines_by_yeast(
    options: dict[int, list[KitBillLine]],
) -> dict[int, list[tuple[RunLine, KitBillLine]]]:
    """Return the run lines that pitch each yeast, with their row of the bill."""
    found: dict[int, list[tuple[RunLine, KitBillLine]]] = defaultdict(list)
    lines = RunLine.objects.filter(run__state__in=(RunState.PLANNED, RunState.RESERVED))
    for line in lines.select_related("run").order_by("run__pack_on", "run__code", "position"):
        choices = options.get(line.kit_id, [])
        chosen = [row for row in choices if line.yeast_id in (None, row.item_id)][:1]
        for row in chosen:
            found[row.item_id].append((line, row))
    return found


def _row(
    judge: _Judge,
    lines: Iterable[tuple[RunLine, KitBillLine]],
    options: Iterable[KitBillLine],
) -> YeastLotRow:
    lot, alive = judge.lot, judge.on(judge.today)
    return YeastLotRow(
        lot_id=lot.pk,
        code=lot.code,
        item_code=lot.item.code,
        item_name=lot.item.name,
        form=alive.form,
        status=LotStatus(lot.status),
        expired=_expired(lot, judge.today),
        packaged_on=lot.packaged_on,
        best_before_on=lot.best_before_on,
        on_hand=lot.stock.on_hand,
        reserved=lot.stock.reserved,
        living=alive.share,
        cells_per_pack=alive.cells_per_pack,
        working=alive.working,
        runs=tuple(_run_row(judge, line, option) for line, option in lines),
        kits=tuple(_kit_row(judge, option) for option in options),
    )


def _run_row(judge: _Judge, line: RunLine, option: KitBillLine) -> YeastRunRow:
    pack_on = max(line.run.pack_on, judge.today)
    pitch_on = brew_day(pack_on, option.kit.shelf_days)
    alive = judge.on(pitch_on)
    pitched = judge.pitched(option, pitch_on)
    needed = packs_for(
        share=alive.target_share, living=alive.share, fill=alive.fill, asked=option.exact
    )
    reasons = _refused(judge.lot, alive, pitched, pack_on, pitch_on)
    below = pitched < alive.target_share
    return YeastRunRow(
        run_code=line.run.code,
        kit_code=option.kit.item.code,
        kit_name=option.kit.item.name,
        kits=line.kits,
        pack_on=line.run.pack_on,
        pitch_on=pitch_on,
        packs=option.packed,
        living=alive.share,
        pitched=pitched,
        packs_to_target=needed,
        enough=needed is not None and needed * line.kits <= judge.lot.stock.on_hand,
        verdict=_verdict(reasons, below=below),
        advice=" ".join(reasons)
        or (_more(alive.form, pitched, needed, option.packed) if below else ""),
        working=pitch(
            packs=option.packed, alive=alive.working, fill=alive.fill, asked=option.exact
        ),
    )


def _kit_row(judge: _Judge, option: KitBillLine) -> YeastKitRow:
    alive = judge.on(judge.today)
    full_until = last_day(lambda day: judge.pitched(option, day) >= alive.target_share, judge.today)
    serves_until = last_day(
        lambda day: judge.pitched(option, day) >= alive.floor_share, judge.today
    )
    return YeastKitRow(
        kit_code=option.kit.item.code,
        kit_name=option.kit.item.name,
        packs=option.packed,
        full_until=full_until,
        serves_until=serves_until,
        pack_until=_pack_until(judge, option, serves_until),
    )


def _pack_until(judge: _Judge, option: KitBillLine, serves_until: date | None) -> date | None:
    """Return the last pack day that leaves the kit its shelf allowance; None: gone already."""
    if serves_until is None:
        return None
    packed = serves_until - timedelta(days=option.kit.shelf_days)
    day = min(packed, judge.lot.best_before_on or packed)
    return day if day >= judge.today else None


def _verdict(reasons: Sequence[str], *, below: bool) -> Verdict:
    if reasons:
        return Verdict.REFUSED
    return Verdict.BELOW_TARGET if below else Verdict.SERVES


def _refused(
    lot: Lot, alive: LotViability, pitched: float, pack_on: date, pitch_on: date
) -> list[str]:
    """Return why a lot may not serve a run; empty when it may."""
    reasons = []
    if lot.status != LotStatus.RELEASED:
        reasons.append(f"The lot is {_STANDING[LotStatus(lot.status)]}.")
    if lot.best_before_on is not None and lot.best_before_on < pack_on:
        reasons.append(f"It expires on {on_date(lot.best_before_on)}, before the run is packed.")
    if pitched < alive.floor_share:
        reasons.append(
            f"On {on_date(pitch_on)} its packs give {pitched:.0%} of the pitch, below the floor of "
            f"{alive.floor_share:.0%}: take a fresher lot."
        )
    return reasons


def _more(form: str, pitched: float, needed: int | None, packs: int) -> str:
    """Return how to make up for a pitch below target; a starter is for liquid yeast."""
    ways = ["advise a starter"] if form == YeastForm.LIQUID else []
    if needed is not None:
        ways.append(f"pack {needed} instead of {packs}")
    return f"{pitched:.1%} of the pitch: {', or '.join(ways)}."


def _expired(lot: Lot, day: date) -> bool:
    return lot.best_before_on is not None and lot.best_before_on < day
