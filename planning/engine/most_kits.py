"""The kits of every line where something is short: firm orders first, then the most kits.

An integer programme over the short items and the lines that take of them. A column is the kits
that a line packs from one lot of one item. What a kit takes of a hop lot is the least it can be,
whatever lots lie beside it, and a batch may be of any size, for kits come before the minimum of a
batch. So no answer that serves the firm orders as well makes more kits. Of the ways to make them,
those with few batches under the minimum, then with few batches, then for the lines that are served
first are sought; what comes out is cut in whole units and compared.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from math import floor

from planning.engine.horizon import Answer, Horizon, PackLine, kits_of
from planning.engine.lacking import lacking
from planning.engine.programme import NODES, Found, Programme, never

_ALMOST = 1e-6
_FEWER_NODES = 5
_FEW_PAIRS = 250
"""Lots of lines up to which age is an aim beside batches."""
_MANY_PAIRS = 1_200
"""Lots of lines beyond which batches are no aim either, and kits from a lot may be split."""


@dataclass(frozen=True, kw_only=True)
class MostKits:
    """What to aim for.

    Attributes
    ----------
    kits: by line.
    shares: by line, of short items, the kits from each bound lot that would make them.
    short: the items that were looked at.
    most: no answer that serves the firm orders as well makes more kits in all.
    """

    kits: Mapping[int, int]
    shares: Mapping[int, Mapping[int, int]]
    short: frozenset[str]
    most: int


def most_kits(
    horizon: Horizon,
    begun: Answer,
    *,
    also: Collection[str] = (),
    nodes: int = NODES,
    stop: Callable[[], bool] = never,
) -> MostKits | None:
    """Return the kits to aim for, or None where all are made or nothing was found.

    Only lines that share a short item with one that lacks kits are looked at; the others keep
    what they have. ``also`` is items that count as short beside those that are.
    """
    made = {line.line: kits_of(begun.get(line.line, ())) for line in horizon.lines}
    lacks = lacking(horizon, begun)
    if not lacks:
        return None
    short = set(also).union(*lacks.values())
    lines = [line for line in horizon.lines if short & {*line.kit.items, *line.divisible}]
    laid = _Laid(horizon, lines, short)
    first = [*laid.firm_aims(nodes=nodes, stop=stop), laid.most]
    found = laid.programme.smallest(first, nodes=nodes, stop=stop)
    if found is None or len(found.solved) < len(first):
        return None
    wanted = sum(line.kits for line in lines)  # the only bound of a search that was stopped early
    most = floor(min(_ALMOST - found.solved[-1].bound, wanted))
    found = _with_few_batches(laid, first, found, nodes=nodes, stop=stop)
    kits = {line: found.columns[column] for line, column in laid.kits.items()}
    return MostKits(
        kits=made | kits,
        shares=laid.shares(found),
        short=frozenset(short),
        most=most + sum(made[line] for line in made.keys() - kits.keys()),
    )


def _with_few_batches(
    laid: _Laid,
    first: Sequence[Mapping[int, float]],
    found: Found,
    *,
    nodes: int,
    stop: Callable[[], bool],
) -> Found:
    """Return as many kits in fewer batches, and then of older lots; what was found at the worst.

    Whether a lot is used makes the programme far harder, so it is only said once the kits are
    known, and not at all where there are very many pairs of line and lot; there only the kits of
    a line are whole, and those from a lot are as they come.
    """
    if laid.many:
        return found
    for aim, solved in zip(first, found.solved, strict=True):
        laid.programme.row(aim, most=solved.value + 0.5)
    batches, started = laid.lay_batches(found)
    aims = [batches, laid.later, laid.passed] if laid.pairs <= _FEW_PAIRS else [batches]
    start = [*map(float, found.columns), *started]
    better = laid.programme.smallest(
        aims, start=start, loose=len(aims) - 1, nodes=nodes // _FEWER_NODES, stop=stop
    )
    return better or found


@dataclass
class _Laid:
    """The columns and rows of the lines that matter."""

    horizon: Horizon
    lines: Collection[PackLine]
    short: set[str]
    programme: Programme = field(default_factory=Programme)
    kits: dict[int, int] = field(default_factory=dict)
    _bound: list[tuple[PackLine, int, int]] = field(default_factory=list)
    many: bool = False
    passed: dict[int, float] = field(default_factory=dict)
    _firm: dict[date, list[int]] = field(default_factory=lambda: defaultdict(list))
    _drawn: dict[int, dict[int, float]] = field(default_factory=lambda: defaultdict(dict))

    def __post_init__(self) -> None:
        pairs = sum(len(line.usable.get(item, ())) for line in self.lines for item in self.short)
        self.many = pairs > _MANY_PAIRS
        for line in self.lines:
            self.kits[line.line] = self.programme.column(most=line.kits)
            self._lay_firm(line)
            self._lay_bound(line)
            self._lay_divisible(line)
        stock = dict(self.horizon.stock) | {
            lot.lot: lot.available for lots in self.horizon.divisible.values() for lot in lots
        }
        for lot, weights in self._drawn.items():
            scale = max(weights.values())
            self.programme.row(
                {column: weight / scale for column, weight in weights.items()},
                most=stock[lot] / scale,
            )

    @property
    def most(self) -> dict[int, float]:
        """The most kits."""
        return dict.fromkeys(self.kits.values(), -1.0)

    @property
    def later(self) -> dict[int, float]:
        """Kits of the lines that are served first."""
        places = {line.line: place for place, line in enumerate(self.horizon.lines)}
        return {column: float(places[line]) for line, column in self.kits.items()}

    def firm_aims(self, *, nodes: int, stop: Callable[[], bool]) -> list[dict[int, float]]:
        """Return the aims of the most firm kits of every promised day, the earliest first.

        Where all can be served, all days are one aim.
        """
        days = [dict.fromkeys(self._firm[day], -1.0) for day in sorted(self._firm)]
        if not days:
            return []
        together = dict.fromkeys((column for day in days for column in day), -1.0)
        found = self.programme.smallest([together], nodes=nodes, stop=stop)
        whole = sum(sum(line.firm.values()) for line in self.lines)
        if found and found.solved and -found.solved[0].value > whole - _ALMOST:
            return [together]
        return days

    @property
    def pairs(self) -> int:
        """How many lots of lines there are to choose among."""
        return len(self._bound)

    def lay_batches(self, found: Found) -> tuple[dict[int, float], list[float]]:
        """Say whether a lot is used, and whether its batch is under the minimum.

        Returns the aim of few batches under the minimum and then of few batches, and the new
        columns as they were found.
        """
        aim: dict[int, float] = {}
        started: list[float] = []
        for line, _, column in self._bound:
            used, small = self.programme.column(most=1), self.programme.column(most=1)
            least, kits = float(line.least), found.columns[column]
            self.programme.row({column: 1.0, used: -float(line.kits)}, most=0)
            self.programme.row({column: 1.0, small: least, used: -least}, least=0)
            aim |= {used: 1.0, small: float(self.pairs + 1)}
            started += [float(kits > 0), float(0 < kits < least)]
        return aim, started

    def shares(self, found: Found) -> dict[int, dict[int, int]]:
        """Return the kits of each line by bound lot."""
        shares: dict[int, dict[int, int]] = {line: {} for line in self.kits}
        for line, lot, column in self._bound:
            shares[line.line][lot] = found.columns[column]
        return shares

    def _lay_firm(self, line: PackLine) -> None:
        columns = []
        for day in sorted(line.firm):
            column = self.programme.column(most=line.firm[day])
            self._firm[day].append(column)
            columns.append(column)
        if columns:
            served = dict.fromkeys(columns, 1.0) | {self.kits[line.line]: -1.0}
            self.programme.row(served, most=0)

    def _lay_bound(self, line: PackLine) -> None:
        for item, lots in line.usable.items():
            if item not in self.short:
                continue
            pairs: dict[int, float] = {}
            for lot in lots:
                if line.fits(item, lot):
                    column = self.programme.column(most=line.kits, whole=not self.many)
                    pairs[column] = 1.0
                    self._bound.append((line, lot.lot, column))
                    if line.passed[lot.lot]:
                        self.passed[column] = float(line.passed[lot.lot])
                    extra = 1 + line.kit.overage.get(item, 0.0)
                    self._draw(lot.lot, column, line.lightest(item, lot) * extra)
            self._all_kits(line, pairs)

    def _lay_divisible(self, line: PackLine) -> None:
        for item in sorted(self.short & line.divisible.keys()):
            each = sum(line.divisible[item]) * (1 + line.kit.overage.get(item, 0.0))
            pairs: dict[int, float] = {}
            for lot in self.horizon.divisible.get(item, ()):
                if lot.usable(line.on):
                    column = self.programme.column(most=line.kits, whole=False)
                    pairs[column] = 1.0
                    self._draw(lot.lot, column, each)
            if each:
                self._all_kits(line, pairs)

    def _draw(self, lot: int, column: int, each: float) -> None:
        if each:
            self._drawn[lot][column] = each

    def _all_kits(self, line: PackLine, pairs: Mapping[int, float]) -> None:
        self.programme.row({**pairs, self.kits[line.line]: -1.0}, least=0, most=0)
