"""The newest allocation as a planner reads it: lots by run, how good it is, what changed since."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from boxwort.jobs.models import Job, JobState
from inventory.models import Item, Lot
from planning.jobs import ALLOCATE
from planning.models import LotPlan, Run, RunLine, RunState
from planning.queries.horizons import runs_ahead

_AIMS = (
    ("kits", "Kits"),
    ("under_minimum", "Batches under the minimum"),
    ("batches", "Batches"),
    ("later", "Kits times runs served before them"),
    ("weak", "Kits with yeast below target"),
    ("passed", "Kits times older lots passed over"),
    ("slivers", "Lots left too small for a batch"),
    ("lot_uses", "Lots put out, by run"),
)


@dataclass(frozen=True, kw_only=True)
class AimRow:
    """One aim: what the answer comes to, the greedy one, and first expired first out literally."""

    name: str
    words: str
    chosen: int
    greedy: int
    literal: int


@dataclass(frozen=True, kw_only=True)
class AllocatedLot:
    """A lot of a batch; ``changed`` where the batch before it was packed from another."""

    item_code: str
    item_name: str
    lot_id: int
    lot_code: str
    changed: bool


@dataclass(frozen=True, kw_only=True)
class AllocatedBatch:
    """Kits in a row; ``from_kit`` is the first, ``start`` and ``width`` thousandths of the line."""

    kits: int
    from_kit: int
    start: int
    width: int
    lots: tuple[AllocatedLot, ...]

    @property
    def to_kit(self) -> int:
        """The last kit of it."""
        return self.from_kit + self.kits - 1


@dataclass(frozen=True, kw_only=True)
class AllocatedLine:
    """A run line: ``possible`` of its ``kits`` have lots; ``lacks`` names what holds back."""

    kit_code: str
    kit_name: str
    kits: int
    possible: int
    firm: int
    lacks: tuple[str, ...]
    batches: tuple[AllocatedBatch, ...]

    @property
    def short(self) -> int:
        """Kits without lots."""
        return self.kits - self.possible


@dataclass(frozen=True, kw_only=True)
class AllocatedRun:
    """A run; ``reservable`` while it is planned and every kit of it has its lots."""

    id: int
    code: str
    pack_on: date
    state: str
    state_words: str
    version: int
    lines: tuple[AllocatedLine, ...]

    @property
    def kits(self) -> int:
        """Kits that have lots."""
        return sum(line.possible for line in self.lines)

    @property
    def batches(self) -> int:
        """Batches of all lines."""
        return sum(len(line.batches) for line in self.lines)

    @property
    def short(self) -> int:
        """Kits without lots."""
        return sum(line.short for line in self.lines)

    @property
    def reservable(self) -> bool:
        """Whether it can be reserved by this allocation."""
        return self.state == RunState.PLANNED and not self.short


@dataclass(frozen=True, kw_only=True)
class AllocationRow:
    """An allocation; ``changes`` is what is not as it was when it was made."""

    id: int
    made_at: datetime
    made_by: str
    until_on: date
    status: str
    wanted: int
    kits: int
    most_kits: int
    batches: int
    fewest_batches: int
    gap: float
    aims: tuple[AimRow, ...]
    runs: tuple[AllocatedRun, ...]
    changes: tuple[str, ...]

    @property
    def short(self) -> int:
        """Kits without lots."""
        return self.wanted - self.kits

    @property
    def how_good(self) -> tuple[str, ...]:
        """What is known of the answer, in sentences."""
        return tuple(
            said for said in (self._of_kits(), self._of_batches(), self._of_the_end()) if said
        )

    def _of_kits(self) -> str:
        if not self.short:
            return f"All {self.wanted} kits have their lots."
        than = f" than {self.most_kits}" if self.most_kits > self.kits else ""
        return (
            f"{self.kits} of {self.wanted} kits have their lots; no plan that serves as many firm "
            f"orders has lots for more{than}."
        )

    def _of_batches(self) -> str:
        with_these = " that packs these kits" if self.short else ""
        if self.batches <= self.fewest_batches:
            return f"No plan{with_these} has fewer than {_batches(self.batches)}."
        return (
            f"No plan{with_these} can have fewer than {_batches(self.fewest_batches)}; this one "
            f"has {self.batches}. Whether one between them exists was not found out."
        )

    def _of_the_end(self) -> str:
        if self.status == "stopped":
            return "The search was cancelled; this is the best it had found by then."
        return ""


def _batches(count: int) -> str:
    return "1 batch" if count == 1 else f"{count} batches"


def latest_plan() -> LotPlan | None:
    """Return the newest allocation that was kept."""
    return LotPlan.objects.select_related("made_by").order_by("-pk").first()


def search_under_way() -> int | None:
    """Return the number of the search that waits or runs, the newest if there are several."""
    jobs = Job.objects.filter(name=ALLOCATE.name, state__in=[JobState.QUEUED, JobState.RUNNING])
    return jobs.order_by("-pk").values_list("pk", flat=True).first()


def latest_allocation() -> AllocationRow | None:
    """Return the newest allocation; as many statements for one run as for a hundred."""
    plan = latest_plan()
    return None if plan is None else allocation_row(plan)


def allocation_row(plan: LotPlan) -> AllocationRow:
    """Return an allocation as it is read."""
    figures = plan.figures
    chosen = figures["chosen"]
    runs = {
        run.pk: run
        for run in Run.objects.filter(pk__in={row["run"] for row in plan.answer["lines"]})
    }
    shown = _runs(plan, runs)
    return AllocationRow(
        id=plan.pk,
        made_at=plan.made_at,
        made_by=plan.made_by.named,
        until_on=plan.until_on,
        status=plan.status,
        wanted=figures["wanted"],
        kits=chosen["kits"],
        most_kits=figures["most_kits"],
        batches=chosen["batches"],
        fewest_batches=figures["fewest_batches"],
        gap=plan.gap or 0.0,
        aims=_aims(figures),
        runs=tuple(sorted(shown, key=lambda run: (run.pack_on, run.code))),
        changes=tuple(_changes(plan, runs)),
    )


def _aims(figures: Mapping[str, Any]) -> tuple[AimRow, ...]:
    ways = ("chosen", "greedy", "literal")
    firm = [sum(figures[way]["firm"]) for way in ways]
    words = "Kits for firm orders, of which those promised first come first"
    rows = [AimRow(name="firm", words=words, **dict(zip(ways, firm, strict=True)))]
    rows += [
        AimRow(name=name, words=words, **{way: figures[way][name] for way in ways})
        for name, words in _AIMS
    ]
    return tuple(rows)


def _runs(plan: LotPlan, runs: Mapping[int, Run]) -> list[AllocatedRun]:
    rows = [row for row in plan.answer["lines"] if row["run"] in runs]
    batches = [batch for row in rows for batch in row["batches"]]
    lots = dict(
        Lot.objects.filter(pk__in={lot for batch in batches for lot in batch["lots"].values()})
        .order_by("pk")
        .values_list("pk", "code")
    )
    codes = {code for batch in batches for code in batch["lots"]}
    codes.update(code for row in rows for code in row["lacks"])
    items = dict(Item.objects.filter(code__in=codes).order_by("pk").values_list("code", "name"))
    kits = {
        line.pk: line.kit.item
        for line in RunLine.objects.filter(pk__in=[row["line"] for row in rows]).select_related(
            "kit__item"
        )
    }
    by_run: dict[int, list[AllocatedLine]] = {}
    for row in rows:
        if row["line"] in kits:
            by_run.setdefault(row["run"], []).append(_line(row, kits[row["line"]], items, lots))
    return [
        AllocatedRun(
            id=run,
            code=runs[run].code,
            pack_on=runs[run].pack_on,
            state=runs[run].state,
            state_words=runs[run].get_state_display(),
            version=runs[run].version,
            lines=tuple(lines),
        )
        for run, lines in by_run.items()
    ]


def _line(
    row: Mapping[str, Any], kit: Item, items: Mapping[str, str], lots: Mapping[int, str]
) -> AllocatedLine:
    return AllocatedLine(
        kit_code=kit.code,
        kit_name=kit.name,
        kits=row["kits"],
        possible=row["possible"],
        firm=row["firm"],
        lacks=tuple(items.get(code, code) for code in row["lacks"]),
        batches=tuple(_batch_rows(row, items, lots)),
    )


def _batch_rows(
    row: Mapping[str, Any], items: Mapping[str, str], lots: Mapping[int, str]
) -> Iterable[AllocatedBatch]:
    before = 0
    last: Mapping[str, int] = {}
    for batch in row["batches"]:
        yield AllocatedBatch(
            kits=batch["kits"],
            from_kit=before + 1,
            start=1000 * before // row["kits"],
            width=1000 * batch["kits"] // row["kits"],
            lots=tuple(
                AllocatedLot(
                    item_code=code,
                    item_name=items.get(code, code),
                    lot_id=lot,
                    lot_code=lots.get(lot, "?"),
                    changed=code in last and last[code] != lot,
                )
                for code, lot in batch["lots"].items()
            ),
        )
        before += batch["kits"]
        last = batch["lots"]


def _changes(plan: LotPlan, runs: Mapping[int, Run]) -> list[str]:
    """Return what is not as it was, in sentences; what was reserved by a person is no change."""
    gone = [run for run in runs.values() if run.state != RunState.PLANNED]
    ahead = runs_ahead(plan.until_on, settled=[run.pk for run in gone])
    then: Mapping[str, str] = plan.answer["inputs"]
    planned = {run.pk for run in runs.values() if run.state == RunState.PLANNED}
    said: list[str] = []
    if ahead.inputs["rules"] != then["rules"]:
        said.append("The house rules of packing are others.")
    cancelled = sorted(run.code for run in gone if run.state == RunState.CANCELLED)
    said += [f"Run {code} was cancelled." for code in cancelled]
    said += _run_changes(plan, runs, planned, ahead.inputs, then)
    new = {line.run.code for pk, line in ahead.lines.items() if f"line {pk}" not in then}
    said += [f"Run {code} has kits that were not planned then." for code in sorted(new)]
    said += _lot_changes(plan, planned, ahead.inputs, then)
    return said


def _run_changes(
    plan: LotPlan,
    runs: Mapping[int, Run],
    planned: set[int],
    now: Mapping[str, str],
    then: Mapping[str, str],
) -> list[str]:
    changed = {
        runs[row["run"]].code
        for row in plan.answer["lines"]
        if row["run"] in planned and now.get(f"line {row['line']}") != then[f"line {row['line']}"]
    }
    return [
        f"Run {code}, or the alpha acid of a lot for it, is not as it was."
        for code in sorted(changed)
    ]


def _lot_changes(
    plan: LotPlan, planned: set[int], now: Mapping[str, str], then: Mapping[str, str]
) -> list[str]:
    used = {
        f"lot {lot}"
        for row in plan.answer["lines"]
        if row["run"] in planned
        for batch in row["batches"]
        for lot in batch["lots"].values()
    }
    stock = {name for name in now if name.startswith("lot ")}
    changed = {name for name in stock if now[name] != then.get(name)} | (used - stock)
    numbers = [int(name.removeprefix("lot ")) for name in changed]
    codes: Sequence[str] = list(
        Lot.objects.filter(pk__in=numbers).order_by("code").values_list("code", flat=True)
    )
    return [f"The stock of {', '.join(codes)} is not what it was."] if codes else []
