"""Yeast freshness: what each lot still gives, which runs it can serve, and until when.

A lot is judged on pitch day, the pack day plus the kit's shelf allowance: it lies here until it is
packed, then travels, then lies on the customer's shelf. With the packs on the kit's bill it
*serves* at the target or above; below target a starter or more packs are advised; below the floor
it is refused. Target and floor are the kit's own, where it names them, else the strain's.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from copy import copy
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from django.utils import timezone

from boxwort.accounts.queries import site_settings
from boxwort.figures import on_date, share
from boxwort.working import Working
from inventory.models import ItemKind, Lot, LotStatus
from inventory.queries.yeasts import Journey, YeastLives, journey, yeast_lives
from planning.engine.pitching import last_day
from planning.models import RunLine, RunState
from planning.queries.chosen_substitutes import chosen_substitutes
from planning.queries.pitches import Pitch, more, pitch_of
from planning.queries.supply import brew_day
from recipes.models import KitBillLine
from recipes.queries.bills import SubstituteRow


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
    target, floor: shares of the pitch, the kit's own or the strain's.
    packs_to_target: packs for each kit that reach the target; None: the yeast is dead by then.
    enough: whether the lot on hand holds ``packs_to_target`` for every kit of the line.
    advice: what to do, or why it is refused; empty when it serves.
    starter: litres that grow the cells missing to the target; None where there is none to advise.
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
    target: float
    floor: float
    packs_to_target: int | None
    enough: bool
    verdict: Verdict
    advice: str
    working: Working
    starter: Working | None


@dataclass(frozen=True, kw_only=True)
class YeastKitRow:
    """How long a lot can serve one kit with the packs on its bill; None: not even today.

    ``full_until`` and ``serves_until`` are the last pitch days at target and at floor, if the kit
    is packed its shelf allowance before. ``pack_until`` is the last day it may be packed with it.
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
    """One lot on one day after another; ``cells_per_l`` is what a litre of starter grows."""

    lot: Lot
    lives: YeastLives
    journey: Journey
    cells_per_l: float
    today: date

    def packed(self, option: KitBillLine, pack_on: date, pitch_on: date) -> Pitch:
        alive = self.lives.pitched_on(self.lot.pk, pack_on, pitch_on, self.journey)
        return pitch_of(option, alive)

    def pitched(self, option: KitBillLine, pitch_on: date) -> Pitch:
        """Return the pitch of a kit packed its shelf allowance before, or else today."""
        allowed = pitch_on - timedelta(days=option.kit.shelf_days)
        return self.packed(option, max(self.today, allowed), pitch_on)


def yeast_rows(on: date | None = None, lot_id: int | None = None) -> tuple[YeastLotRow, ...]:
    """Return every yeast lot on hand, or the one asked for, as of ``on``.

    By item, the lot that expires first at the top.
    """
    today = on or timezone.localdate()
    held = Lot.objects.filter(
        item__kind=ItemKind.YEAST, item__yeast__isnull=False, stock__on_hand__gt=0
    )
    if lot_id is not None:
        held = held.filter(pk=lot_id)
    lots = list(held.select_related("item__yeast", "stock"))
    lots.sort(key=lambda lot: (lot.item.code, lot.best_before_on or date.max, lot.code))
    lives = yeast_lives([lot.pk for lot in lots])
    site = site_settings()
    options = options_by_kit()
    lines = lines_by_yeast(options)
    kits: dict[int, list[KitBillLine]] = defaultdict(list)
    for option in (option for found in options.values() for option in found):
        if option.kit.offered:
            kits[option.item_id].append(option)
    return tuple(
        _row(
            _Judge(
                lot=lot,
                lives=lives,
                journey=journey(site),
                cells_per_l=site.starter_billion_per_l * 1e9,
                today=today,
            ),
            lines[lot.item_id],
            kits[lot.item_id],
        )
        for lot in lots
    )


def options_by_kit() -> dict[int, list[KitBillLine]]:
    """Return the yeast options of every frozen bill, the usual one first."""
    found: dict[int, list[KitBillLine]] = defaultdict(list)
    rows = KitBillLine.objects.filter(is_yeast_option=True).select_related("kit__item")
    for row in rows.order_by("kit__item__code", "position"):
        found[row.kit_id].append(row)
    return found


def lines_by_yeast(
    options: dict[int, list[KitBillLine]],
) -> dict[int, list[tuple[RunLine, KitBillLine]]]:
    """Return the run lines that pitch each yeast, with their row of the bill.

    Where a line uses a substitute, the row is that of the bill with the substitute in it.
    """
    found: dict[int, list[tuple[RunLine, KitBillLine]]] = defaultdict(list)
    rows = RunLine.objects.filter(run__state__in=(RunState.PLANNED, RunState.RESERVED))
    lines = list(rows.select_related("run").order_by("run__pack_on", "run__code", "position"))
    substitutes = chosen_substitutes(lines)
    for line in lines:
        choices = options.get(line.kit_id, [])
        chosen = [row for row in choices if line.yeast_id in (None, row.item_id)][:1]
        for row in chosen:
            option = _pitched(row, substitutes[line.pk].get(row.key))
            found[option.item_id].append((line, option))
    return found


def _pitched(row: KitBillLine, substitute: SubstituteRow | None) -> KitBillLine:
    """Return the row with its substitute in it, not to be saved; without one, as it is."""
    if substitute is None:
        return row
    option = copy(row)
    option.item_id = substitute.item_id
    option.exact, option.packed = substitute.exact, substitute.packed
    return option


def _row(
    judge: _Judge,
    lines: Iterable[tuple[RunLine, KitBillLine]],
    options: Iterable[KitBillLine],
) -> YeastLotRow:
    lot, alive = judge.lot, judge.lives.on(judge.lot.pk, judge.today)
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
    given = judge.packed(option, pack_on, pitch_on)
    needed = given.packs_to_target
    reasons = _refused(judge.lot, given, pack_on, pitch_on)
    below = not given.full
    advised = None if reasons else given.starter(judge.cells_per_l)
    return YeastRunRow(
        run_code=line.run.code,
        kit_code=option.kit.item.code,
        kit_name=option.kit.item.name,
        kits=line.kits,
        pack_on=line.run.pack_on,
        pitch_on=pitch_on,
        packs=given.packs,
        living=given.alive.share,
        pitched=given.pitched,
        target=given.target,
        floor=given.floor,
        packs_to_target=needed,
        enough=needed is not None and needed * line.kits <= judge.lot.stock.on_hand,
        verdict=_verdict(reasons, below=below),
        advice=" ".join(reasons) or (more(given, judge.cells_per_l) if below else ""),
        working=given.working,
        starter=advised,
    )


def _kit_row(judge: _Judge, option: KitBillLine) -> YeastKitRow:
    def reaches(day: date, limit: str) -> bool:
        given = judge.pitched(option, day)
        return given.full if limit == "target" else given.serves

    serves_until = last_day(lambda day: reaches(day, "floor"), judge.today)
    return YeastKitRow(
        kit_code=option.kit.item.code,
        kit_name=option.kit.item.name,
        packs=option.packed,
        full_until=last_day(lambda day: reaches(day, "target"), judge.today),
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


def _refused(lot: Lot, given: Pitch, pack_on: date, pitch_on: date) -> list[str]:
    """Return why a lot may not serve a run; empty when it may."""
    reasons = []
    if lot.status != LotStatus.RELEASED:
        reasons.append(f"The lot is {_STANDING[LotStatus(lot.status)]}.")
    if lot.best_before_on is not None and lot.best_before_on < pack_on:
        reasons.append(f"It expires on {on_date(lot.best_before_on)}, before the run is packed.")
    if not given.serves:
        reasons.append(
            f"On {on_date(pitch_on)} its packs give {share(given.pitched, 0)} of the pitch, below "
            f"the floor of {share(given.floor, 0)}: take a fresher lot."
        )
    return reasons


def _expired(lot: Lot, day: date) -> bool:
    return lot.best_before_on is not None and lot.best_before_on < day
