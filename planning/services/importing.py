"""Importing one workbook into all the books at once: everything of it, or nothing.

The workbook is read and checked first, outside any transaction, and progress counts that. Then
every row is written through the services of its room, in one transaction. What cannot be read, does
not fit, or is refused is collected by sheet, row and column; where anything remains, the whole is
undone and the refusal ``workbook-has-problems`` carries the list. What already stands as the
workbook says is left alone, so the same workbook twice changes nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db import transaction
from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.accounts.queries import site_settings
from boxwort.accounts.services import answer_once, service, write_history
from boxwort.errors import Refusal
from boxwort.jobs.body import Work, Write
from boxwort.sheets.forms import Problem
from boxwort.sheets.reading import Reading, Report, unheard, workbook_read
from boxwort.sheets.saving import Count, Saving
from inventory.models import Lot
from inventory.services import importing as stock
from planning.services import importing_orders as orders
from planning.services import importing_plan as plan
from planning.services.importing_house import DAYS_OFF, save_days_off
from planning.services.uploads import digest_of, upload
from recipes.services import importing as recipes

FORMS = (
    plan.ABOUT,
    DAYS_OFF,
    *stock.FORMS,
    *recipes.FORMS,
    plan.DEMAND,
    orders.ZONES,
    orders.CUSTOMER_ORDERS,
    plan.ON_ORDER,
)
HAS_PROBLEMS = "workbook-has-problems"


@dataclass(frozen=True, kw_only=True)
class ImportResult:
    """How many rows of each sheet were new, changed what stood, or changed nothing."""

    counts: Mapping[str, Count]

    def as_json(self) -> dict[str, Any]:
        """Return plain values."""
        return {sheet: count.as_json() for sheet, count in self.counts.items()}

    @classmethod
    def from_json(cls, stored: Mapping[str, Mapping[str, int]]) -> ImportResult:
        """Rebuild a result stored by :meth:`as_json`."""
        return cls(counts={sheet: Count(**count) for sheet, count in stored.items()})


@dataclass(frozen=True, kw_only=True)
class CheckedWorkbook:
    """A workbook that was read and checked, on its way into the books."""

    name: str
    digest: str
    shift_days: int
    reading: Reading


def import_workbook(
    *,
    by: User,
    content: bytes,
    name: str,
    key: str,
    shift_days: int = 0,
    report: Report | None = None,
) -> ImportResult:
    """Import a workbook whole; asked twice with one key, it is done once.

    Parameters
    ----------
    name: what the file is called, for people.
    shift_days: moves every date of the workbook by whole days.
    report: told how many rows are checked, of how many, and the stage.

    Raises
    ------
    Refusal: ``workbook-has-problems`` with the list in its details, ``not-a-workbook`` or
        ``workbook-too-big``.
    """
    checked = checked_workbook(content=content, name=name, shift_days=shift_days, report=report)
    return save_workbook(by=by, checked=checked, key=key)


def checked_workbook(
    *, content: bytes, name: str, shift_days: int = 0, report: Report | None = None
) -> CheckedWorkbook:
    """Read a workbook and check that its sheets fit together and fit the books."""
    tell = report or unheard
    reading = workbook_read(content, FORMS, tell)
    reading.shift(shift_days)
    today = timezone.localdate()
    books = stock.standing_catalogue()
    stock.check_stock(reading, books, plan.dated_as_of(reading, today))
    recipes.check_recipes(reading, books)
    plan.check_plan(reading, books, today)
    orders.check_orders(reading, books)
    tell(reading.count, reading.count, "saving")
    return CheckedWorkbook(
        name=name, digest=digest_of(content), shift_days=shift_days, reading=reading
    )


@service
def save_workbook(*, by: User, checked: CheckedWorkbook, key: str) -> ImportResult:
    """Write a checked workbook, all of it or nothing.

    Raises
    ------
    Refusal: ``workbook-has-problems``.
    """
    asked = {"digest": checked.digest, "shift_days": checked.shift_days}
    answer = answer_once(by=by, key=key, payload=asked, work=lambda: _written(by, checked))
    return ImportResult.from_json(answer)


def workbook_problems(
    *, by: User, content: bytes, name: str, shift_days: int = 0, report: Report | None = None
) -> list[dict[str, Any]]:
    """Return what importing a workbook would be refused for, leaving nothing behind."""
    checked = checked_workbook(content=content, name=name, shift_days=shift_days, report=report)
    with transaction.atomic():
        try:
            _written(by, checked)
        except Refusal as refusal:
            return problems_of(refusal)
        finally:
            transaction.set_rollback(True)
    return []


def problems_of(refusal: Refusal) -> list[dict[str, Any]]:
    """Return the list that ``workbook-has-problems`` carries; any other refusal goes on."""
    if refusal.code != HAS_PROBLEMS:
        raise refusal
    return list(refusal.details["problems"])


def run_import(work: Work) -> Write:
    """Import a kept workbook as a job; its problems are the job's result, and then nothing else."""
    checked = checked_workbook(
        content=upload(work.arguments["digest"]),
        name=work.arguments["name"],
        report=work.report,
    )

    def write() -> dict[str, Any]:
        try:
            with transaction.atomic():
                counts = _written(work.by, checked)
        except Refusal as refusal:
            return {"counts": {}, "problems": problems_of(refusal)}
        return {"counts": counts, "problems": []}

    return write


def shift_for(content: bytes, on: date) -> int:
    """Return the days to shift a workbook by so that it is as fresh on ``on`` as it says.

    Whole weeks from the day it is dated as of, so that Mondays stay Mondays; or, where lots of it
    already stand in the books, the shift they came with.
    """
    reading = workbook_read(content, FORMS)
    standing = dict(Lot.objects.values_list("code", "received_on"))
    came: list[timedelta] = [
        standing[row["code"]] - row["received_on"]
        for row in reading.sound("Lots")
        if row["code"] in standing
    ]
    if came:
        return came[0].days
    return (on - plan.dated_as_of(reading, on)).days // 7 * 7


def _written(by: User, checked: CheckedWorkbook) -> dict[str, Any]:
    saving = Saving(by=by, reading=checked.reading)
    books = stock.standing_catalogue()
    plan.save_producer(saving)
    save_days_off(saving)
    stock.save_stock(saving, books)
    recipes.save_recipes(saving, books)
    plan.save_plan(saving, books)
    orders.save_orders(saving, books)
    problems = [*checked.reading.problems, *saving.problems]
    if problems:
        raise _refusal(checked.name, problems)
    counts = {sheet: count.as_json() for sheet, count in saving.counts.items()}
    write_history(
        by=by,
        thing=site_settings(),
        action="import-workbook",
        after={"name": checked.name, "digest": checked.digest, "counts": counts},
    )
    return counts


def _refusal(name: str, problems: list[Problem]) -> Refusal:
    places = {form.name: number for number, form in enumerate(FORMS)}
    ordered = sorted(problems, key=lambda each: (places.get(each.sheet, -1), each.row))
    number = "1 problem" if len(problems) == 1 else f"{len(problems)} problems"
    return Refusal(
        HAS_PROBLEMS,
        f"{name} has {number}, and nothing of it was imported.",
        "Correct each cell named, and import it again.",
        details={"problems": [problem.as_json() for problem in ordered]},
    )
