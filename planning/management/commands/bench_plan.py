"""Time planning, from reading the rows to keeping the plan, beside its bare arithmetic."""

from __future__ import annotations

import tracemalloc
from argparse import ArgumentParser
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median
from time import perf_counter
from typing import Any

from django.core.management.base import CommandError
from django.db import connection
from django.test.utils import CaptureQueriesContext

from boxwort.accounts.queries import house_user
from boxwort.terminal import HouseCommand
from planning.engine.plan import PlanResult, planned
from planning.engine.plan_input import PlanInput
from planning.management.bench_database import store, throw_away_database
from planning.management.made_up_plan import BareArithmetic, MadeUpPlan, made_up_plan
from planning.queries.plan_input import plan_input
from planning.services.keeping_plans import keep_plan

_SCALES = (1, 10, 100)
_STORED = (1, 3)
_ROUNDS = 50
_FEWEST = 3
_TODAY = date(2026, 3, 2)  # a Monday
_MB = 1e6
_HEADERS = ("what", "rounds", "milliseconds", "times the bare arithmetic", "peak MB", "growth")
_ENGINE = ("explode", "net with expiry", "size")
_WHOLE = ("read", "plan", "save")

Works = Mapping[str, Callable[[], object]]


@dataclass(frozen=True, kw_only=True)
class Taken:
    """What one step took: its rounds, the median of their seconds, and its peak of memory."""

    rounds: int
    seconds: float
    megabytes: float


class Command(HouseCommand):
    """``manage.py bench_plan`` or ``manage.py bench_plan --scale 1 --stored 1 --rounds 20``."""

    help = (
        "Print how long planning takes, step by step, and as a ratio to the bare arithmetic of the "
        "same case without expiry: 240 kits of 15 lines over 26 weeks, 150 ingredients, 500 lots, "
        "and many times of it. Reading and saving are those of the house, on a throw-away "
        "database; the house's own is neither read nor changed."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--scale", type=int, nargs="*", default=list(_SCALES), help="of the arrays (1 10 100)"
        )
        parser.add_argument(
            "--stored", type=int, nargs="*", default=list(_STORED), help="in a database (1 3)"
        )
        parser.add_argument(
            "--rounds",
            type=int,
            default=_ROUNDS,
            help="how often each step is timed at scale 1 (50; at 10 a tenth of it); medians count",
        )

    def prepare(self) -> None:
        """Leave the house's database alone."""

    def handle(self, *_: Any, **options: Any) -> None:
        if min([*options["scale"], *options["stored"], options["rounds"]]) < 1:
            msg = "A scale is at least 1, and so are the rounds."
            raise CommandError(msg)
        self.say(
            "Growth is the time beside what it would be if it grew as the rows do: 1.00 is linear. "
            "Peak memory is what tracemalloc counts in a round of its own."
        )
        growth = Growth()
        for scale in sorted(set(options["scale"])):
            rounds = max(options["rounds"] // scale, _FEWEST)
            growth.show(self, f"Arrays, scale {scale}", scale, *engine_taken(scale, rounds))
        self._stored(sorted(set(options["stored"])), options["rounds"])

    def _stored(self, scales: Sequence[int], rounds: int) -> None:
        growth, selects = Growth(), set()
        for scale in scales:
            plan = made_up_plan(scale)
            with throw_away_database():
                store(plan, _TODAY)
                found, counted = stored_taken(plan, max(rounds // (10 * scale), _FEWEST))
            growth.show(self, f"Stored in {connection.vendor}, scale {scale}", scale, found, _WHOLE)
            self.say(f"Reading took {counted} statements.")
            selects.add(counted)
        if len(selects) > 1:
            msg = "Reading takes more statements for more rows."
            raise CommandError(msg)


def engine_taken(scale: int, rounds: int) -> tuple[dict[str, Taken], tuple[str, ...]]:
    """Return what the steps of the engine take on arrays, and which of them add up."""
    plan = made_up_plan(scale)
    bare = BareArithmetic(plan)
    demands = plan.explode()
    found = plan.net(demands)
    plan.size(found)
    works: Works = {
        "bare arithmetic": bare.net,
        "explode": plan.explode,
        "net with expiry": lambda: plan.net(demands),
        "size": lambda: plan.size(found),
    }
    return taken(works, rounds), _ENGINE


def stored_taken(plan: MadeUpPlan, rounds: int) -> tuple[dict[str, Taken], int]:
    """Return what reading, planning and saving take on the rows of a plan, and the statements."""
    by, bare, latest = house_user(), BareArithmetic(plan), _Latest()
    with CaptureQueriesContext(connection) as captured:
        latest.read()
    works: Works = {
        "bare arithmetic": bare.net,
        "read": latest.read,
        "plan": latest.make,
        "save": lambda: keep_plan(by=by, plan=latest.plan),
    }
    return taken(works, rounds), len(captured)


class _Latest:
    """What was read last, and the plan made of it: nothing that a plan remembers is timed away."""

    given: PlanInput
    plan: PlanResult

    def read(self) -> None:
        self.given = plan_input(_TODAY)

    def make(self) -> None:
        self.plan = planned(self.given)


def taken(works: Works, rounds: int) -> dict[str, Taken]:
    """Return what each work takes, done in turn so that all meet the same machine."""
    seconds: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(rounds):
        for name, work in works.items():
            started = perf_counter()
            work()
            seconds[name].append(perf_counter() - started)
    return {
        name: Taken(rounds=rounds, seconds=median(seconds[name]), megabytes=_peak(work))
        for name, work in works.items()
    }


def _peak(work: Callable[[], object]) -> float:
    tracemalloc.start()
    try:
        work()
        return tracemalloc.get_traced_memory()[1] / _MB
    finally:
        tracemalloc.stop()


class Growth:
    """Tables of what steps took, each beside that of the scale before."""

    def __init__(self) -> None:
        self._before: tuple[int, dict[str, float]] | None = None

    def show(
        self,
        command: HouseCommand,
        what: str,
        scale: int,
        found: Mapping[str, Taken],
        together: Sequence[str],
    ) -> None:
        """Print a table; ``together`` are the steps whose sum is its last row.

        Growth is the seconds as a share of what they would be if they grew as the rows do.
        """
        steps = dict(found)
        steps["together"] = Taken(
            rounds=steps[together[0]].rounds,
            seconds=sum(steps[name].seconds for name in together),
            megabytes=max(steps[name].megabytes for name in together),
        )
        bare = steps["bare arithmetic"].seconds
        command.heading(what)
        command.show(
            _HEADERS,
            [
                (
                    name,
                    step.rounds,
                    f"{step.seconds * 1e3:.2f}",
                    f"{step.seconds / bare:.1f}",
                    f"{step.megabytes:.1f}",
                    self._grown(name, scale, step.seconds),
                )
                for name, step in steps.items()
            ],
        )
        self._before = scale, {name: step.seconds for name, step in steps.items()}

    def _grown(self, name: str, scale: int, seconds: float) -> str:
        if self._before is None:
            return ""
        smaller, before = self._before
        return f"{seconds / before[name] / (scale / smaller):.2f}"
