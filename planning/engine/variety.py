"""The lots of one variety over all lines of a horizon, as an integer programme.

Kits of every line and the lots of its other varieties are given. A column is the kits that a line
packs from one lot, another whether it uses that lot at all. In this order it wants: the fewest
lots of a line beyond what its other varieties ask for anyway, then the fewest lots; the fewest
kits whose yeast is weak; the fewest kits packed while an older lot is passed over, and beside
that the fewest slivers.

The weight of a kit from a lot is the worst beside the lots that its line uses now, so what comes
out holds as long as those stay; whoever takes it up reckons again in whole units.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from planning.engine.programme import NODES, Found, Programme, Solved, never

_NO_REST = (1, 1)
"""Of a lot of which a kit's weight rounds to nothing: a unit is a kit, and a batch too."""


@dataclass(frozen=True, kw_only=True)
class Pair:
    """A lot that may serve a line.

    ``each`` is what a kit takes of it with the overage, in units of stock, and ``rounding`` what a
    batch may take beyond that; ``passed`` is how many usable lots expire before it.
    """

    line: int
    lot: int
    each: float
    rounding: int
    passed: int
    weak: bool = False


@dataclass(frozen=True, kw_only=True)
class VarietyCase:
    """What is asked of one variety.

    Attributes
    ----------
    kits, least: by line, its kits and the least kits of a batch.
    others: by line, the most lots that any other of its varieties uses now.
    stock: by lot, what it has in units of stock.
    rests: by lot, what a kit and what a batch's minimum take of it: less than a kit is nothing
        left, and less than a batch a sliver. A lot that is not named leaves no sliver.
    start: kits by line and lot, as they are now.
    """

    kits: Mapping[int, int]
    least: Mapping[int, int]
    others: Mapping[int, int]
    pairs: Sequence[Pair]
    stock: Mapping[int, int]
    rests: Mapping[int, tuple[int, int]]
    start: Mapping[tuple[int, int], int]


@dataclass(frozen=True, kw_only=True)
class VarietyChoice:
    """Kits by line and lot, none of them zero; ``uses`` says how the aim of fewest lots ended.

    ``uses`` is None where every line has one lot already, so that nothing was to be solved.
    """

    kits: Mapping[tuple[int, int], int]
    uses: Solved | None


def variety_choice(
    case: VarietyCase, *, nodes: int = NODES, stop: Callable[[], bool] = never
) -> VarietyChoice | None:
    """Return the lots of one variety, or None where the programme finds nothing to say."""
    laid = _Laid(case)
    single = len(case.start) <= len(case.kits)
    aims = [laid.fewest] if not single else []
    if single:
        laid.keep_lots(len(case.start))
    aims += [aim for aim in (laid.weak, laid.oldest) if aim]
    if not aims:
        return None
    found = laid.programme.smallest(
        aims, start=laid.started(), loose=1 if laid.oldest else 0, nodes=nodes, stop=stop
    )
    if found is None or not found.solved:
        return None
    return VarietyChoice(kits=laid.read(found), uses=None if single else found.solved[0])


class _Laid:
    """The columns and rows of a case."""

    def __init__(self, case: VarietyCase) -> None:
        self._case = case
        self.programme = programme = Programme()
        self._kits = [programme.column(most=case.kits[pair.line]) for pair in case.pairs]
        self._used = [programme.column(most=1) for _ in case.pairs]
        self._of_line: dict[int, list[int]] = defaultdict(list)
        self._of_lot: dict[int, list[int]] = defaultdict(list)
        for place, pair in enumerate(case.pairs):
            self._of_line[pair.line].append(place)
            self._of_lot[pair.lot].append(place)
        self._beyond = {line: programme.column() for line in self._of_line}
        self._lay_lines()
        self._rests = {lot: self._lay_lot(lot) for lot in self._of_lot}

    @property
    def fewest(self) -> dict[int, float]:
        """Lots of a line beyond what it has anyway, then lots."""
        more = float(len(self._used) + 1)
        return {**dict.fromkeys(self._beyond.values(), more), **dict.fromkeys(self._used, 1.0)}

    @property
    def weak(self) -> dict[int, float]:
        """Kits whose yeast is weak."""
        pairs = zip(self._kits, self._case.pairs, strict=True)
        return {column: 1.0 for column, pair in pairs if pair.weak}

    @property
    def oldest(self) -> dict[int, float]:
        """Kits packed while an older lot is passed over, then slivers."""
        more = float(len(self._rests) + 1)
        pairs = zip(self._kits, self._case.pairs, strict=True)
        passed = {column: more * pair.passed for column, pair in pairs if pair.passed}
        return {**passed, **{sliver: 1.0 for sliver, _ in self._rests.values()}}

    def keep_lots(self, most: int) -> None:
        """Keep to so many lots in all."""
        self.programme.row(dict.fromkeys(self._used, 1.0), most=most)

    def started(self) -> list[float]:
        """Return the columns as the start has them."""
        case = self._case
        columns = [float(case.start.get((pair.line, pair.lot), 0)) for pair in case.pairs]
        columns += [float(kits > 0) for kits in columns]
        for line, places in self._of_line.items():
            used = sum(columns[self._used[place]] for place in places)
            columns.append(max(0.0, used - case.others[line]))
        for lot, places in self._of_lot.items():
            left = case.stock[lot] - sum(
                columns[self._kits[place]] * case.pairs[place].each for place in places
            )
            kit, batch = case.rests.get(lot, _NO_REST)
            columns += [float(kit <= left < batch), float(left < kit)]
        return columns

    def read(self, found: Found) -> dict[tuple[int, int], int]:
        """Return the kits by line and lot."""
        return {
            (pair.line, pair.lot): found.columns[column]
            for pair, column in zip(self._case.pairs, self._kits, strict=True)
            if found.columns[column] > 0
        }

    def _lay_lines(self) -> None:
        case, programme = self._case, self.programme
        for line, places in self._of_line.items():
            kits = case.kits[line]
            programme.row({self._kits[place]: 1.0 for place in places}, least=kits, most=kits)
            for place in places:
                column, used = self._kits[place], self._used[place]
                programme.row({column: 1.0, used: -float(kits)}, most=0)
                programme.row({column: 1.0, used: -float(case.least[line])}, least=0)
            beyond = {self._used[place]: 1.0 for place in places} | {self._beyond[line]: -1.0}
            programme.row(beyond, most=case.others[line])

    def _lay_lot(self, lot: int) -> tuple[int, int]:
        """Keep a lot within its stock; return whether a sliver is left, and whether nothing is.

        Rows are in kits of the lot rather than in milligrams, so that figures stay small.
        """
        case, programme = self._case, self.programme
        places = self._of_lot[lot]
        kit, batch = case.rests.get(lot, _NO_REST)
        sliver, empty = programme.column(most=1), programme.column(most=1)
        taken = {self._kits[place]: case.pairs[place].each / kit for place in places}
        rounded = {self._used[place]: case.pairs[place].rounding / kit for place in places}
        stock = case.stock[lot] / kit
        programme.row(taken | rounded, most=stock)
        # left >= a batch, unless a sliver is left or nothing; nothing: left <= a kit
        programme.row(taken | {sliver: -batch / kit, empty: -batch / kit}, most=stock - batch / kit)
        programme.row(taken | {empty: -stock}, least=-1.0)
        return sliver, empty
