"""Integer programmes with several aims in order, put to HiGHS so that one input has one answer.

A programme ends by a relative gap and a number of nodes, never by a clock: the answer does not
depend on how busy the machine is. Each aim is made as small as it can be, and is
then kept to while the next one is. A person may stop a search; the best columns so far stay.

>>> programme = Programme()
>>> apples, pears = programme.column(most=8), programme.column(most=8)
>>> programme.row({apples: 1, pears: 1}, least=6)
>>> programme.row({apples: 2, pears: 1}, most=10)
>>> found = programme.smallest([{pears: 1}, {apples: 1}])
>>> found.columns, found.solved[0].value, found.solved[0].bound
((4, 2), 2.0, 2.0)
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import inf
from typing import Any

import highspy
import numpy as np

from planning.engine.solver import solver

GAP = 1e-4
LOOSE_GAP = 0.02
NODES = 100
_LOOSE_NODES = 5
_SMALL = 200
"""Columns of a small programme; a larger one has as many fewer nodes as it is larger."""


def never() -> bool:
    """Never stop."""
    return False


@dataclass(frozen=True, kw_only=True)
class Solved:
    """How one aim came out: its value, and what none can be below."""

    value: float
    bound: float


@dataclass(frozen=True, kw_only=True)
class Found:
    """The columns, all rounded to whole numbers, and how each aim came out."""

    columns: tuple[int, ...]
    solved: tuple[Solved, ...]


class Programme:
    """Columns from zero to ``most``, and rows that their weighted sums must keep to."""

    def __init__(self) -> None:
        self._most: list[float] = []
        self._whole: list[bool] = []
        self._rows: list[tuple[Mapping[int, float], float, float]] = []

    def column(self, *, most: float = inf, whole: bool = True) -> int:
        """Add a column and return its place."""
        self._most.append(most)
        self._whole.append(whole)
        return len(self._most) - 1

    def row(self, weights: Mapping[int, float], *, least: float = -inf, most: float = inf) -> None:
        """Keep a weighted sum of columns between two values."""
        self._rows.append((weights, least, most))

    def smallest(
        self,
        aims: Sequence[Mapping[int, float]],
        *,
        start: Sequence[float] | None = None,
        loose: int = 0,
        nodes: int = NODES,
        stop: Callable[[], bool] = never,
    ) -> Found | None:
        """Return the columns that make each aim smallest in turn; None where nothing was found.

        Values of the aims are whole for whole columns: an aim is kept to within half of one.
        The last ``loose`` aims end at a wider gap and with fewer nodes than the others. ``nodes``
        are those of a small programme.
        """
        size = max(len(self._most), _SMALL)
        model = self._model(stop)
        columns, solved = start, []
        for place, aim in enumerate(aims):
            if stop():
                break
            last = place >= len(aims) - loose
            share = _LOOSE_NODES if last else 1
            model.setOptionValue("mip_rel_gap", LOOSE_GAP if last else GAP)
            model.setOptionValue("mip_max_nodes", max(nodes * _SMALL // size // share, 1))
            one = _solve(model, aim, columns, len(self._most))
            if one is None:
                return None
            columns, how = one
            solved.append(how)
            _add_row(model, aim, -inf, how.value + 0.5)
        if columns is None:
            return None
        return Found(columns=tuple(round(column) for column in columns), solved=tuple(solved))

    def _model(self, stop: Callable[[], bool]) -> highspy.Highs:
        model = solver()
        count = len(self._most)
        model.addVars(count, np.zeros(count), np.asarray(self._most, dtype=float))
        whole = np.flatnonzero(np.asarray(self._whole)).astype(np.int32)
        kinds = np.full(len(whole), highspy.HighsVarType.kInteger)
        model.changeColsIntegrality(len(whole), whole, kinds)
        for weights, least, most in self._rows:
            _add_row(model, weights, least, most)

        def interrupt(event: Any) -> None:
            if stop():
                event.interrupt()

        if stop is not never:
            model.cbMipInterrupt.subscribe(interrupt)
        return model


def _add_row(model: highspy.Highs, weights: Mapping[int, float], least: float, most: float) -> None:
    places = np.fromiter(weights.keys(), dtype=np.int32, count=len(weights))
    values = np.fromiter(weights.values(), dtype=float, count=len(weights))
    model.addRow(least, most, len(weights), places, values)


def _solve(
    model: highspy.Highs, aim: Mapping[int, float], start: Sequence[float] | None, count: int
) -> tuple[Sequence[float], Solved] | None:
    costs = np.zeros(count)
    for place, cost in aim.items():
        costs[place] = cost
    model.changeColsCost(count, np.arange(count, dtype=np.int32), costs)
    if start is not None:
        begun = highspy.HighsSolution()
        begun.col_value = list(start)
        model.setSolution(begun)
    model.run()
    solution, info = model.getSolution(), model.getInfo()
    if not solution.value_valid:
        return None
    value = float(info.objective_function_value)
    bound = min(float(info.mip_dual_bound), value)
    return list(solution.col_value), Solved(value=value, bound=bound)
