"""Writing the rows of a workbook through services, keeping count, and naming each refused row.

Every row is written under a savepoint, so that one refusal does not hide the next; whoever calls
undoes the whole when problems remain. A row that names something which could not be read or written
is passed over, for its problem is already named there.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from enum import StrEnum

from django.db import transaction

from boxwort.accounts.models import History, User
from boxwort.errors import Refusal
from boxwort.sheets.forms import Problem, Row
from boxwort.sheets.reading import Reading


class Outcome(StrEnum):
    """What became of a row."""

    NEW = "new"
    CHANGED = "changed"
    UNCHANGED = "unchanged"


@dataclass(kw_only=True)
class Count:
    """How many rows of a sheet were new, changed what stood, or changed nothing."""

    new: int = 0
    changed: int = 0
    unchanged: int = 0

    def as_json(self) -> dict[str, int]:
        """Return plain values."""
        return asdict(self)


@dataclass(kw_only=True)
class Saving:
    """A workbook on its way into the books."""

    by: User
    reading: Reading
    counts: dict[str, Count] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.counts = {sheet: Count() for sheet, rows in self.reading.rows.items() if rows}

    @contextmanager
    def writing(self, row: Row, *parts: Row, new: bool) -> Iterator[None]:
        """Write one row, with the rows of other sheets that belong to it.

        Services write history when they change something and only then, so it tells whether the
        row ``changed`` what stood.
        """
        before = self._newest_history()
        try:
            with transaction.atomic():
                yield
        except Refusal as refusal:
            self.problems.append(row.problem("", refusal.what, refusal.remedy))
            return
        written = self._newest_history() != before
        outcome = Outcome.NEW if new else Outcome.CHANGED if written else Outcome.UNCHANGED
        self.note([row, *parts], outcome)

    def note(self, rows: Sequence[Row], outcome: Outcome) -> None:
        """Count rows without writing them."""
        for row in rows:
            count = self.counts[row.sheet]
            setattr(count, outcome, getattr(count, outcome) + 1)

    def refuse(self, row: Row, name: str, what: str, remedy: str) -> None:
        """Name what is wrong with a row, at the column that ``name`` is read from."""
        self.problems.append(row.problem(name, what, remedy))

    def _newest_history(self) -> int | None:
        written = History.objects.filter(by=self.by).order_by("-pk")
        return written.values_list("pk", flat=True).first()
