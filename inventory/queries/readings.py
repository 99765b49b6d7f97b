"""What was measured on lots and still stands, as plans and recipes reckon with it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from inventory.models import Analysis, AnalysisKind
from inventory.models.analyses import METHOD_NAMES
from inventory.queries.lineage import Generation


@dataclass(frozen=True, kw_only=True)
class Reading:
    """A measured value in the unit of its kind.

    ``replaced_method`` is the method of the reading that this one came in place of: the one it
    supersedes, or else the one sampled before it; "" where it is the first.
    """

    kind: str
    sampled_on: date
    value: float
    spread: float | None
    method: str
    basis: str
    at_harvest: bool
    replaced_method: str = ""

    def as_is(self, moisture: Reading | None) -> float:
        """Return the value of the lot as it is, where it was measured on dry matter."""
        return self.value * (1 - moisture.value) if self.basis == "dry" and moisture else self.value


#: The readings of a lot that stand, the oldest sample first, by kind.
Readings = Mapping[str, Sequence[Reading]]


def readings_of(
    lives: Mapping[int, Sequence[Generation]], kinds: Collection[AnalysisKind]
) -> dict[int, Readings]:
    """Return what stands of the lots of these lives, by lot; one statement.

    A lot has the readings of those it goes on from, sampled up to the day it was made.
    """
    rows: dict[int, list[Analysis]] = defaultdict(list)
    lots = {step.lot_id for life in lives.values() for step in life}
    for row in Analysis.objects.filter(lot__in=lots, kind__in=kinds):
        rows[row.lot_id].append(row)
    superseded = {row.supersedes_id for found in rows.values() for row in found}
    return {lot_id: _standing(_inherited(life, rows), superseded) for lot_id, life in lives.items()}


def newest(readings: Readings, kind: AnalysisKind) -> Reading | None:
    """Return the reading of a kind with the newest sample, or None."""
    standing = readings.get(kind)
    return standing[-1] if standing else None


def method_note(method: str, other: str) -> tuple[str, ...]:
    """Return the note owed where a reading is by another method than the one before it, or none."""
    if other in ("", method):
        return ()
    return (
        f"Method: {METHOD_NAMES[method]}; of the reading before it: {METHOD_NAMES[other]}. Two "
        "methods give different figures for one hop, so a part of the change may be theirs.",
    )


def _inherited(
    life: Sequence[Generation], rows: Mapping[int, Sequence[Analysis]]
) -> list[Analysis]:
    found = [
        row
        for step in life
        for row in rows.get(step.lot_id, ())
        if step.until is None or row.sampled_on <= step.until
    ]
    return sorted(found, key=lambda row: (row.sampled_on, row.pk))


def _standing(rows: Sequence[Analysis], superseded: Collection[int | None]) -> Readings:
    methods = {row.pk: row.method for row in rows}
    standing: dict[str, list[Reading]] = defaultdict(list)
    for row in rows:
        if row.pk in superseded:
            continue
        before = standing[row.kind][-1].method if standing[row.kind] else ""
        replaced = methods.get(row.supersedes_id or 0, before)
        standing[row.kind].append(_reading(row, replaced))
    return dict(standing)


def _reading(row: Analysis, replaced_method: str) -> Reading:
    return Reading(
        kind=row.kind,
        sampled_on=row.sampled_on,
        value=row.value,
        spread=row.spread,
        method=row.method,
        basis=row.basis,
        at_harvest=row.at_harvest,
        replaced_method=replaced_method,
    )
