"""Linear and integer programmes, put to HiGHS so that one input has one answer.

One thread, a fixed seed, and an end by a relative gap and a number of nodes, never by a clock: the
answer does not depend on how busy the machine is.

>>> rows = [Row(most=8, weights=[2, 1]), Row(most=6, weights=[1, 1])]
>>> answer = best([3.0, 2.0], rows, most=[10, 10])
>>> answer.columns, answer.value, answer.prices
((2.0, 4.0), 14.0, (1.0, 1.0))
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import frexp, inf, ldexp

import highspy
import numpy as np

from planning.engine.solver import solver

_EXACT = 1e-10  # weights of one row may be thousands of times apart
_NONE = (highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnbounded)


@dataclass(frozen=True, kw_only=True)
class Row:
    """A condition: the columns times their weights lie between ``least`` and ``most``."""

    weights: Sequence[float]
    least: float = -inf
    most: float = inf


@dataclass(frozen=True, kw_only=True)
class Answer:
    """The columns that make an aim largest.

    Attributes
    ----------
    bound: what no answer can pass; the value itself of a linear programme.
    proved: whether nothing better than the gap allows can exist.
    prices: what one more of each row's bound would add to the value; linear programmes only.
    reaches: how far each row's bound may go before its price changes; linear programmes only.
    """

    columns: tuple[float, ...]
    value: float
    bound: float
    proved: bool
    prices: tuple[float, ...]
    reaches: tuple[float, ...]


def best(
    aim: Sequence[float],
    rows: Sequence[Row],
    *,
    most: Sequence[float],
    whole: bool = False,
    gap: float = 1e-4,
    nodes: int = 2_000,
    start: Sequence[float] | None = None,
) -> Answer:
    """Return the columns, each from zero to its ``most``, that make the aim largest.

    Parameters
    ----------
    aim: what one of each column adds.
    whole: whether columns are whole numbers; ``gap`` and ``nodes`` end that search, ``start`` is
        columns to begin it with.

    Raises
    ------
    ValueError: no columns meet the rows, or nothing holds the aim back.
    """
    if not aim:
        return _nothing(len(rows))
    # a solver loses its way where money in ten-thousandths stands beside rows of about one; a
    # power of two takes no digit
    unit = ldexp(1.0, frexp(max(map(abs, aim)))[1])
    model = _model([each / unit for each in aim], rows, most)
    if whole:
        kinds = np.full(len(aim), highspy.HighsVarType.kInteger)
        model.changeColsIntegrality(len(aim), np.arange(len(aim), dtype=np.int32), kinds)
        model.setOptionValue("mip_rel_gap", gap)
        model.setOptionValue("mip_max_nodes", nodes)
        if start is not None:
            begun = highspy.HighsSolution()
            begun.col_value = list(start)
            model.setSolution(begun)
    model.run()
    return _answer(model, unit, whole=whole)


def _nothing(rows: int) -> Answer:
    return Answer(
        columns=(), value=0.0, bound=0.0, proved=True, prices=(0.0,) * rows, reaches=(inf,) * rows
    )


def _model(aim: Sequence[float], rows: Sequence[Row], most: Sequence[float]) -> highspy.Highs:
    model = solver(primal_feasibility_tolerance=_EXACT, dual_feasibility_tolerance=_EXACT)
    columns = np.arange(len(aim), dtype=np.int32)
    model.addVars(len(aim), np.zeros(len(aim)), np.asarray(most, dtype=float))
    model.changeColsCost(len(aim), columns, np.asarray(aim, dtype=float))
    model.changeObjectiveSense(highspy.ObjSense.kMaximize)
    for row in rows:
        weights = np.asarray(row.weights, dtype=float)
        used = np.flatnonzero(weights).astype(np.int32)
        model.addRow(row.least, row.most, len(used), used, weights[used])
    return model


def _answer(model: highspy.Highs, unit: float, *, whole: bool) -> Answer:
    status, info, solution = model.getModelStatus(), model.getInfo(), model.getSolution()
    if not solution.value_valid or status in _NONE:
        msg = f"no answer meets every condition ({model.modelStatusToString(status)})"
        raise ValueError(msg)
    value = float(info.objective_function_value) * unit
    rows = 0 if whole else len(solution.row_dual)
    return Answer(
        columns=tuple(float(column) for column in solution.col_value),
        value=value,
        bound=float(info.mip_dual_bound) * unit if whole else value,
        proved=status == highspy.HighsModelStatus.kOptimal,
        prices=tuple(float(price) * unit for price in solution.row_dual[:rows]),
        reaches=_reaches(model) if rows else (),
    )


def _reaches(model: highspy.Highs) -> tuple[float, ...]:
    _, ranging = model.getRanging()
    return tuple(float(reach) for reach in ranging.row_bound_up.value_)
