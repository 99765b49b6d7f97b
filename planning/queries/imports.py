"""What came of importing a workbook, as a page shows it."""

from __future__ import annotations

from dataclasses import dataclass

from boxwort.jobs.queries import JobRow, job_row


@dataclass(frozen=True, kw_only=True)
class SheetCountRow:
    """How many rows of a sheet were new, changed what stood, or changed nothing."""

    sheet: str
    new: int
    changed: int
    unchanged: int


@dataclass(frozen=True, kw_only=True)
class ProblemRow:
    """What is wrong at one place of the workbook, and what to do about it.

    ``row`` is 0 and ``column`` and ``cell`` are empty where the sheet as a whole is meant.
    """

    sheet: str
    row: int
    column: str
    cell: str
    value: str
    what: str
    remedy: str


@dataclass(frozen=True, kw_only=True)
class ImportRow:
    """An import: its job, and once that has ended the counts or the problems."""

    job: JobRow
    name: str
    counts: tuple[SheetCountRow, ...]
    problems: tuple[ProblemRow, ...]


def import_row(job_id: int, *, name: str) -> ImportRow | None:
    """Return the import done by a job, or nothing where no job of that name has the number.

    One statement; ``name`` is the name that imports are asked under.
    """
    job = job_row(job_id)
    if job is None or job.name != name:
        return None
    return ImportRow(
        job=job,
        name=job.arguments["name"],
        counts=tuple(
            SheetCountRow(sheet=sheet, **count)
            for sheet, count in job.result.get("counts", {}).items()
        ),
        problems=tuple(ProblemRow(**problem) for problem in job.result.get("problems", [])),
    )
