"""The runs that a plan suggests: one by one, and in columns, because a plan has thousands."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

IntArray = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True)
class SuggestedRun:
    """A run to pack: ``kit`` is the row of the net kits, ``needed`` the first bucket it serves.

    ``reasons`` says in plain words why it is not on that day or not of that many.
    """

    kit: int
    bucket: int
    kits: int
    needed: int
    reasons: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class LateKits:
    """Kits that are not packed by ``bucket``: ``made_on`` is when they are, None: never."""

    kit: int
    bucket: int
    kits: int
    made_on: int | None
    reason: str


@dataclass(frozen=True, kw_only=True, eq=False)
class RunColumns:
    """Suggested runs as arrays of one length, by day and kit; ``reasons`` by place, where any."""

    kit: IntArray
    bucket: IntArray
    kits: IntArray
    needed: IntArray
    reasons: Mapping[int, tuple[str, ...]]

    def __len__(self) -> int:
        return len(self.kit)

    @cached_property
    def rows(self) -> tuple[SuggestedRun, ...]:
        """The same, each run by itself."""
        columns = (self.kit, self.bucket, self.kits, self.needed)
        return tuple(
            SuggestedRun(
                kit=kit,
                bucket=bucket,
                kits=kits,
                needed=needed,
                reasons=self.reasons.get(place, ()),
            )
            for place, (kit, bucket, kits, needed) in enumerate(
                zip(*(column.tolist() for column in columns), strict=True)
            )
        )

    @classmethod
    def of(cls, runs: Iterable[SuggestedRun]) -> RunColumns:
        """Return the columns of runs that are in order."""
        found = list(runs)
        rows = [(run.kit, run.bucket, run.kits, run.needed) for run in found]
        kit, bucket, kits, needed = np.array(rows, dtype=np.int64).reshape(-1, 4).T.copy()
        return cls(
            kit=kit,
            bucket=bucket,
            kits=kits,
            needed=needed,
            reasons={place: run.reasons for place, run in enumerate(found) if run.reasons},
        )


@dataclass(frozen=True, kw_only=True, eq=False)
class Runs:
    """Runs by day and kit, what is late, and how many kits the bench packs on each day."""

    columns: RunColumns
    late: tuple[LateKits, ...]
    packed: IntArray

    @property
    def runs(self) -> tuple[SuggestedRun, ...]:
        """The runs, each by itself."""
        return self.columns.rows
