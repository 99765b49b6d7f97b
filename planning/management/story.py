"""A working fortnight at Fernhollow Kit Works, done through the same services as everybody's.

Each act is done once: run again, the story finds what it did and changes nothing.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

from django.conf import settings

from boxwort.accounts.models import User
from boxwort.accounts.people import add_person
from boxwort.accounts.services import answer_once
from boxwort.errors import Refusal
from boxwort.jobs.models import Job, JobState
from boxwort.jobs.supervisor import running_worker
from boxwort.roles import Role
from inventory.models import AnalysisKind, Lot, Place, PlaceKind
from inventory.services.analyses import record_analysis
from inventory.services.lots import hold_lot, release_lot
from planning.jobs import REBALANCE
from planning.management.story_works import StoreRoom
from planning.models import Batch, BatchState, Proposal, ProposalState, Run, RunState
from planning.queries.demand import demand_grid
from planning.services.importing import ImportResult, import_workbook, shift_for
from planning.services.packing import Packed, close_run, pack_batch, start_packing
from planning.services.proposing import accept_proposal
from planning.services.reserving import reserve_run
from planning.services.runs import KitsAsked, plan_run
from recipes.models import Kit

WORKBOOK = Path(settings.BASE_DIR) / "fixtures" / "fernhollow.xlsx"
STYLES = Path(settings.BASE_DIR) / "fixtures" / "style_statistics.csv"
OWNER = "fern"
FIRST_RUN = {"KIT-IPA-AG-20": 24, "KIT-BITTER-AG-19": 12}
SECOND_RUN, SECOND_IN_DAYS = {"KIT-WEISS-AG-20": 4, "KIT-STOUT-AG-20": 3}, 2
WEEKS = 12
RETESTED, NEW_ALPHA = "MAG-26-01", 0.117
WEAKER, WEAKER_ALPHA = "MTH-26-01", 0.053
HELD, RELEASED = "EKG-26-01", "EKG-26-02"
SPILLED_MG = 4_000
PATIENCE_SECONDS = 45.0


@dataclass(frozen=True)
class Story:
    """The acts of the demonstration, by one owner, told as of one day."""

    by: User
    today: date

    def import_stock(self) -> ImportResult:
        """Import the styles and the workbook, its dates moved so that it is as fresh as it says.

        Each run imports them anew: what stands already as they say is left alone.
        """
        styles = self._import(STYLES)
        stock = self._import(WORKBOOK)
        return ImportResult(counts={**styles.counts, **stock.counts})

    def _import(self, file: Path) -> ImportResult:
        content = file.read_bytes()
        return import_workbook(
            by=self.by,
            content=content,
            name=file.name,
            key=f"demo {uuid4()}",
            shift_days=shift_for(content, self.today),
        )

    def plan_runs(self) -> tuple[Run, Run]:
        """Plan two runs of this week, and one for each later week of the demand; return the two."""
        first = self._plan("demo run 1", self.today, FIRST_RUN)
        soon = self.today + timedelta(days=SECOND_IN_DAYS)
        second = self._plan("demo run soon", soon, SECOND_RUN)
        grid = demand_grid(self.today, WEEKS)
        for number, week in enumerate(grid.weeks[1:], start=1):
            wanted = {row.kit_code: row.cells[number].kits for row in grid.rows}
            kits = {code: kits for code, kits in wanted.items() if kits}
            if kits:
                self._plan(f"demo run {number + 1}", week, kits)
        return first, second

    def _plan(self, key: str, pack_on: date, kits: dict[str, int]) -> Run:
        def plan() -> dict[str, Any]:
            known = {
                kit.item.code: kit
                for kit in Kit.objects.filter(item__code__in=kits).select_related("item")
            }
            asked = [KitsAsked(kit=known[code], kits=number) for code, number in kits.items()]
            return {"run": plan_run(by=self.by, pack_on=pack_on, lines=asked).pk}

        answer = answer_once(by=self.by, key=key, payload={}, work=plan)
        return Run.objects.get(pk=answer["run"])

    def reserve(self, run: Run) -> None:
        """Reserve the run, unless that was done before."""
        if run.state == RunState.PLANNED:
            reserve_run(by=self.by, run=run, expected=run.version)
            run.refresh_from_db()

    def news_of_lots(self) -> list[Job]:
        """Record two re-tests, hold a lot and release another; a real worker re-balances."""
        asked_before = Job.objects.filter(name=REBALANCE.name).count()
        with running_worker():
            self._once("demo re-test", lambda: self._retest(RETESTED, NEW_ALPHA))
            self._once("demo weaker", lambda: self._retest(WEAKER, WEAKER_ALPHA))
            self._wait()
            self._once("demo hold and release", self._hold_and_release)
            self._wait()
        return list(Job.objects.filter(name=REBALANCE.name).order_by("pk")[asked_before:])

    def _once(self, key: str, act: Callable[[], dict[str, Any]]) -> None:
        answer_once(by=self.by, key=key, payload={}, work=act)

    def _retest(self, lot: str, alpha: float) -> dict[str, Any]:
        analysis = record_analysis(
            by=self.by,
            lot=Lot.objects.get(code=lot),
            kind=AnalysisKind.ALPHA,
            sampled_on=self.today,
            value=alpha,
            method="spectrophotometric",
            spread=0.02,
        )
        return {"analysis": analysis.pk}

    def _hold_and_release(self) -> dict[str, Any]:
        held, released = Lot.objects.get(code=HELD), Lot.objects.get(code=RELEASED)
        hold_lot(by=self.by, lot=held, expected=held.version, reason="pouch seal found open")
        release_lot(
            by=self.by, lot=released, expected=released.version, reason="certificate checked"
        )
        return {"held": held.pk, "released": released.pk}

    def _wait(self) -> None:
        """Wait for the worker to end what it was asked."""
        end = time.monotonic() + PATIENCE_SECONDS
        going = Job.objects.filter(
            name=REBALANCE.name, state__in=[JobState.QUEUED, JobState.RUNNING]
        )
        while going.exists():
            if time.monotonic() > end:
                raise Refusal(
                    "worker-too-slow",
                    f"The worker did not re-balance within {PATIENCE_SECONDS:.0f} s.",
                    "See what the worker printed above, then run the demo again: it goes on.",
                )
            time.sleep(0.05)

    def accept(self, run: Run) -> None:
        """Accept what is proposed for a run; what is proposed for another stays to be decided."""
        for proposal in Proposal.objects.filter(
            state=ProposalState.OPEN, batch__run_line__run=run
        ).order_by("pk"):
            accept_proposal(by=self.by, proposal=proposal, note="checked against the certificate")

    def pack(self, run: Run) -> None:
        """Pack every batch of the run, a little hop spilled on the way, and close it."""
        if run.state == RunState.RESERVED:
            start_packing(by=self.by, run=run, expected=run.version)
        shelf = Place.objects.filter(kind=PlaceKind.STORAGE).order_by("code")[0]
        waiting = Batch.objects.filter(run_line__run=run, state=BatchState.RESERVED)
        for batch in waiting.select_related("run_line__run", "run_line__kit__item"):
            pack_batch(
                by=self.by,
                batch=batch,
                expected=batch.version,
                packed=Packed(kits=batch.kits, used=self._spilled(batch)),
                place=shelf,
                on=self.today,
                key=f"demo pack {batch.code}",
            )
        if run.state == RunState.PACKING:
            close_run(by=self.by, run=run, expected=run.version)

    @property
    def store_room(self) -> StoreRoom:
        """The trial brews and the works on lots of the same person on the same day."""
        return StoreRoom(by=self.by, today=self.today, once=self._once)

    def _spilled(self, batch: Batch) -> dict[int, int]:
        rows = batch.allocations.filter(current=True, bill_line__role="absorb")
        return {row.pk: row.quantity + SPILLED_MG for row in rows}


def owner_of_the_demo(*, by: User) -> User:
    """Return the owner of the demo, added on the first run; she signs in by a link."""
    known = User.objects.filter(username=OWNER).first()
    return known or add_person(by=by, username=OWNER, role=Role.OWNER, name="Fern Hollow")
