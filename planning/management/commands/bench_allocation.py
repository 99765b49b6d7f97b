"""Measure the search for lots against serving run after run and first expired literally."""

from __future__ import annotations

from argparse import ArgumentParser
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from time import process_time
from typing import Any, TypeVar

from django.core.management.base import CommandError
from django.utils import timezone

from boxwort.accounts.queries import site_settings
from boxwort.terminal import HouseCommand
from planning.engine.aims import Aims, aims_of
from planning.engine.horizon import Horizon
from planning.engine.improving import Allocated, allocated
from planning.engine.programme import NODES
from planning.engine.recheck import faults
from planning.engine.serving import greedy, literal
from planning.management.made_up_horizon import made_up_horizon
from planning.queries.horizons import runs_ahead

_RUNS = (30, 100, 300)
_HEADERS = (
    "way",
    "firm kits",
    "kits",
    "small batches",
    "batches",
    "passed over",
    "slivers",
    "lot uses",
    "CPU seconds",
    "times the greedy",
)
T = TypeVar("T")


class Command(HouseCommand):
    """``manage.py bench_allocation`` or ``manage.py bench_allocation --runs 30 100``."""

    help = (
        "Print what choosing lots for a horizon of runs comes to: kits, batches and how far they "
        "may be from the best, beside serving run after run and first expired first out taken "
        "literally. First the planned runs of this database, then runs that are made up, always "
        "the same. Nothing is written."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--runs", type=int, nargs="*", default=list(_RUNS), help="made-up runs (30 100 300)"
        )
        parser.add_argument(
            "--nodes", type=int, default=NODES, help=f"nodes of a small programme ({NODES})"
        )

    def handle(self, *_: Any, **options: Any) -> None:
        if min(options["runs"], default=1) < 1:
            msg = "There must be at least one run."
            raise CommandError(msg)
        nodes = options["nodes"]
        weeks = timedelta(weeks=site_settings().horizon_weeks)
        self._measure("Planned runs of this database", _planned(weeks), nodes)
        for runs in options["runs"]:
            self._measure(f"{runs} made-up runs", made_up_horizon(runs), nodes)

    def _measure(self, what: str, horizon: Horizon, nodes: int) -> None:
        wanted = sum(line.kits for line in horizon.lines)
        self.heading(f"{what}: {len(horizon.lines)} run lines, {wanted} kits")
        if not horizon.lines:
            self.say("None is planned and not reserved.")
            return
        served, once = timed(lambda: greedy(horizon))
        _, literally = timed(lambda: literal(horizon))
        found, searched = timed(lambda: allocated(horizon, nodes=nodes))
        ways = [
            Way("first expired literally", found.literal, literally, once),
            Way("run after run (greedy)", aims_of(horizon, served), once, once),
            Way("searched", found.aims, searched, once),
        ]
        self.show(_HEADERS, [way.row for way in ways])
        self.say("Firm kits count by promised day, the earliest first; here is their sum.")
        if found.aims.kits > found.greedy.kits and found.aims.batches > found.greedy.batches:
            self.say("More kits come first: it takes more batches to pack them.")
        self._say_bounds(found)
        if found.aims.worth < found.greedy.worth or faults(horizon, found.answer):
            msg = "The answer is unsound, or worse than serving run after run."
            raise CommandError(msg)
        self.say("Reckoned anew in whole units: sound, and not worse than run after run.")

    def _say_bounds(self, found: Allocated) -> None:
        self.say(
            f"No plan that serves as many firm orders packs more than {found.most_kits} kits, and "
            f"none that packs as many of each line has fewer than {found.fewest_batches} batches: "
            f"a gap of {found.gap:.1%}."
        )


@dataclass(frozen=True)
class Way:
    """One way of choosing lots: what it comes to, and its time beside the greedy one's."""

    name: str
    aims: Aims
    seconds: float
    greedy_seconds: float

    @property
    def row(self) -> tuple[object, ...]:
        """Return it as a row of the table."""
        aims = self.aims
        return (
            self.name,
            sum(aims.firm),
            aims.kits,
            aims.under_minimum,
            aims.batches,
            aims.passed,
            aims.slivers,
            aims.lot_uses,
            f"{self.seconds:.3f}",
            f"{self.seconds / self.greedy_seconds:.1f}",
        )


def timed(work: Callable[[], T]) -> tuple[T, float]:
    """Return what a work makes, and the seconds the processor worked for it."""
    started = process_time()
    made = work()
    return made, process_time() - started


def _planned(weeks: timedelta) -> Horizon:
    return runs_ahead(timezone.localdate() + weeks).horizon
