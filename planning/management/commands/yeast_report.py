"""Print how fresh each yeast lot is and which runs it can serve."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from boxwort import figures
from boxwort.terminal import HouseCommand, day
from inventory.models import YeastForm
from planning.queries.interchange import InterchangeRow, interchange_rows
from planning.queries.yeast import YeastKitRow, YeastLotRow, YeastRunRow, yeast_rows
from planning.queries.yeast_matches import YeastMatch, yeast_matches


class Command(HouseCommand):
    help = (
        "Say for each yeast lot how much of it lives today and on pitch day, which planned and "
        "reserved runs it can serve with how many packs, and the last day it can serve each kit; "
        "which lot goes to which run, and which yeasts of the same strain group could stand in."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--on", type=day, help="the day to judge from, as 2026-11-25 (today)")

    def handle(self, *_: Any, **options: Any) -> None:
        on = options["on"] or timezone.localdate()
        rows = yeast_rows(on)
        self.stdout.write(f"Yeast on {figures.on_date(on)}")
        if not rows:
            self.stdout.write("No yeast on hand.")
        for row in rows:
            for line in _lot(row):
                self.stdout.write(line)
        for line in (*_matches(yeast_matches(on)), *_others(interchange_rows(on))):
            self.stdout.write(line)


def _lot(row: YeastLotRow) -> Iterator[str]:
    living = figures.share(row.living)
    strength = (
        f"{living} viable, {figures.cells(row.cells_per_pack * row.living)} a pack"
        if row.form == YeastForm.LIQUID
        else f"{living} active"
    )
    state = "expired" if row.expired else row.status.label.lower()
    yield ""
    yield (
        f"{row.code}  {row.item_name}: {row.on_hand} packs on hand, {row.reserved} reserved, "
        f"{state}{_dated(', packed', row.packaged_on)}{_dated(', best before', row.best_before_on)}"
    )
    yield f"  today {strength}"
    if row.runs:
        yield (
            f"  {'Run':<20} {'Kit':<20} {'Kits':>5} {'Pitch day':>12} {'Living':>8} {'Pitch':>7} "
            f"{'Packs a kit':>12}  Verdict"
        )
    for run in row.runs:
        yield from _run(run)
    for kit in row.kits:
        yield f"  {_kit(kit)}"


def _run(run: YeastRunRow) -> Iterator[str]:
    to_target = "none will do" if run.packs_to_target is None else str(run.packs_to_target)
    yield (
        f"  {run.run_code:<20} {run.kit_code:<20} {run.kits:>5} "
        f"{figures.on_date(run.pitch_on):>12} {figures.share(run.living):>8} "
        f"{figures.share(run.pitched, 0):>7} {to_target:>12}  {run.verdict}"
    )
    if run.advice:
        yield f"  {'':<20} {run.advice}"
    if run.packs_to_target and not run.enough:
        wanted = run.packs_to_target * run.kits
        yield f"  {'':<20} All {run.kits} kits at target would take {wanted} packs of this lot."


def _kit(kit: YeastKitRow) -> str:
    packs = f"{kit.packs} pack{'s' if kit.packs != 1 else ''}"
    if kit.serves_until is None:
        return f"{kit.kit_code} ({packs}): cannot be served any more"
    packed = (
        f", if packed by {figures.on_date(kit.pack_until)}"
        if kit.pack_until
        else ", too soon to pack it now"
    )
    return (
        f"{kit.kit_code} ({packs}): last pitch day {figures.on_date(kit.serves_until)}{packed}"
        f"{_dated('; at target until', kit.full_until)}"
    )


def _matches(matches: Iterable[YeastMatch]) -> Iterator[str]:
    for number, match in enumerate(matches):
        if not number:
            yield from ("", "Which lot for which run: older lots to kits that need fewer cells")
        yield f"{match.item_code}  {match.item_name}: {_outcome(match)}"
        for row in match.rows:
            served = (
                f"from {row.lot_code}, {figures.share(row.pitched, 0)} of the pitch"
                f"{'' if row.full else ', below target'}"
                if row.pitched is not None
                else "no lot is left"
            )
            yield f"  {row.run_code:<20} {row.kit_code:<20} {row.kits:>5} kits {served}"


def _outcome(match: YeastMatch) -> str:
    proved = "" if match.proved else ", and a better way was not ruled out"
    return (
        f"of {match.wanted} kits {match.at_target} at target, "
        f"{match.served - match.at_target} above the floor{proved}"
    )


def _others(rows: Iterable[InterchangeRow]) -> Iterator[str]:
    for number, row in enumerate(rows):
        if not number:
            yield from ("", "Yeasts of the same strain group that could stand in")
        packs = "no pack will do" if row.other_packs is None else f"{row.other_packs} a kit"
        yield (
            f"  {row.kit_code}: {row.other_code} for {row.item_code}, FG "
            f"{figures.rounded(row.other_fg.value, 3)} for {figures.rounded(row.fg.value, 3)}, "
            f"{figures.with_unit(row.other_abv.value, 1, '% ABV')}, {packs} "
            f"({row.packs_in_stock} in stock)"
        )


def _dated(words: str, day: date | None) -> str:
    return f"{words} {figures.on_date(day)}" if day else ""
