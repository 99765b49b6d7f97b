"""What kits take of their parts, as needs: of which item, by which day, how much, for what.

Parts packed are needed on the pack day, parts added at dispatch on the day the boxes leave. What
one cause takes of an item on one day is one need. Every row of a bill is rounded up as
:func:`planning.engine.usage.quantity_needed` does; bitterness becomes milligrams of alpha acid.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from planning.engine.plan_input import IntArray, MakeRows

_NOISE = 1e-9


@dataclass(frozen=True, kw_only=True, eq=False)
class Needs:
    """Needs, as arrays of one length.

    Attributes
    ----------
    item, bucket, cause: what is needed, when, and for what.
    quantity: whole units of stock; of what is needed by alpha acid, what the bill names.
    alpha: milligrams of alpha acid; 0: the weight counts.
    pitch: what is asked of a yeast, -1 of anything else.
    """

    item: IntArray
    bucket: IntArray
    cause: IntArray
    quantity: IntArray
    alpha: IntArray
    pitch: IntArray

    def __len__(self) -> int:
        return len(self.item)

    def at(self, chosen: IntArray | NDArray[np.bool_]) -> Needs:
        """Return some of the needs, by place or by mask."""
        return Needs(**{name: getattr(self, name)[chosen] for name in _COLUMNS})

    @classmethod
    def of(cls, rows: Sequence[tuple[int, ...]]) -> Needs:
        """Return needs from rows of their columns."""
        columns = np.array(rows, dtype=np.int64).reshape(-1, len(_COLUMNS)).T.copy()
        return cls(**dict(zip(_COLUMNS, columns, strict=True)))


_COLUMNS = tuple(each.name for each in fields(Needs))


@dataclass(frozen=True, kw_only=True, eq=False)
class Packed:
    """Kits of makes that are packed or leave, as arrays of one length: on what day, for what."""

    make: IntArray
    bucket: IntArray
    kits: IntArray
    cause: IntArray

    def at(self, chosen: IntArray | NDArray[np.bool_]) -> Packed:
        """Return some of them, by place or by mask."""
        return Packed(
            make=self.make[chosen],
            bucket=self.bucket[chosen],
            kits=self.kits[chosen],
            cause=self.cause[chosen],
        )

    @classmethod
    def of(cls, rows: Sequence[tuple[int, int, int, int]]) -> Packed:
        """Return kits from rows of make, bucket, kits and cause."""
        make, bucket, kits, cause = np.array(rows, dtype=np.int64).reshape(-1, 4).T.copy()
        return cls(make=make, bucket=bucket, kits=kits, cause=cause)


class Bills:
    """The rows of all makes, to be joined to what is packed or leaves."""

    def __init__(self, rows: MakeRows, makes: int) -> None:
        self.rows = rows
        self._starts = {
            dispatch: self._laid(np.flatnonzero(rows.dispatch == dispatch), makes)
            for dispatch in (False, True)
        }

    def _laid(self, places: IntArray, makes: int) -> tuple[IntArray, IntArray, IntArray]:
        """Return rows by make: their places, and where those of each make begin, and how many."""
        counts = np.bincount(self.rows.make[places], minlength=makes)
        starts = np.concatenate(([0], np.cumsum(counts)[:-1])) if makes else counts
        order = np.argsort(self.rows.make[places], kind="stable")
        return places[order], starts, counts

    def needs(self, kits: Packed, *, dispatch: bool) -> Needs:
        """Return what kits take, packed or at dispatch, one need a row and entry."""
        places, starts, counts = self._starts[dispatch]
        each = counts[kits.make]
        entry = np.repeat(np.arange(len(each)), each)
        begins = np.cumsum(each) - each
        row = places[np.repeat(starts[kits.make] - begins, each) + np.arange(len(entry))]
        packed = kits.kits[entry] * self.rows.packed[row]
        extra = np.ceil(packed * self.rows.overage[row] - _NOISE).astype(np.int64)
        quantity = packed + extra
        alpha = np.nan_to_num(self.rows.alpha[row])
        return Needs(
            item=self.rows.item[row],
            bucket=kits.bucket[entry],
            cause=kits.cause[entry],
            quantity=quantity,
            alpha=np.ceil(quantity * alpha - _NOISE).astype(np.int64),
            pitch=self.rows.pitch[row],
        )


def summed(parts: Sequence[Needs]) -> Needs:
    """Return needs of one item, day, cause, pitch and kind as one, by item, day and cause."""
    found = {name: np.concatenate([getattr(part, name) for part in parts]) for name in _COLUMNS}
    by_alpha = found["alpha"] > 0
    keys = (found["item"], found["bucket"], found["cause"], found["pitch"] + 1, by_alpha)
    key = np.zeros(len(by_alpha), dtype=np.int64)
    for column in keys:
        width = int(column.max()) + 1 if len(column) else 1
        key = key * width + column
    if not len(key):
        return Needs.of([])
    _, first, at = np.unique(key, return_index=True, return_inverse=True)
    found["quantity"], found["alpha"] = (
        _sums(found[name], at, len(first)) for name in ("quantity", "alpha")
    )
    kept = {name: found[name][first] for name in _COLUMNS if name not in ("quantity", "alpha")}
    return Needs(quantity=found["quantity"], alpha=found["alpha"], **kept)


def _sums(values: IntArray, at: IntArray, count: int) -> IntArray:
    """Return sums by place; whole, because floats would lose units of large stocks."""
    sums = np.zeros(count, dtype=np.int64)
    np.add.at(sums, at, values)
    return sums
