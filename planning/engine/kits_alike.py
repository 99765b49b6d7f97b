"""Kits with as many moving additions each, balanced side by side in arrays.

Every array is additions x kits: a step of the arithmetic is one operation for all the kits, and
what :mod:`planning.engine.balance` does for one kit is done here in the same order. Weights are
counted in steps of the resolution, so that rounding is taking whole numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np

from boxwort.quantities import MG_PER_G
from planning.engine.balance import NOTHING_MG
from planning.engine.hop_line import HopLine
from planning.engine.kit_sheet import BoundKit
from planning.engine.rounding import NO_STEP, SAME_IBU
from planning.engine.times_alike import NEVER, Asked, Floats, Marks, TimesAlike, Whole
from recipes.brewing.roles import HopRole

_CLOSE_IBU = 2 * 10.0**-SAME_IBU
"""Misses this close may be one and the same when they are rounded."""


@dataclass(frozen=True, kw_only=True)
class Shape:
    """What kits that lie side by side have in common.

    Attributes
    ----------
    weights: places for additions of which the weight moves. Where no time moves there are two at
        least, so that most kits of a house lie in one table.
    times: additions of which the boil time moves.
    absorbed: whether something takes what these leave of the target; True without them.
    """

    weights: int
    times: int
    absorbed: bool

    @property
    def moving(self) -> int:
        """Places for additions that move in either way."""
        return self.weights + self.times

    @classmethod
    def of(cls, kit: BoundKit) -> Shape:
        """Return the shape of a kit."""
        times = sum(line.moves_in_time for line in kit.hop_lines)
        weights = sum(line.moves for line in kit.hop_lines)
        return cls(
            weights=weights if times else max(weights, 2),
            times=times,
            absorbed=not times or any(_absorbs(line) for line in kit.hop_lines),
        )

    def laid_out(self, kit: BoundKit) -> list[int | None]:
        """Return the place of each addition of a kit in its order here; None for an empty one."""
        lines = kit.hop_lines
        weights: list[int | None] = [at for at, line in enumerate(lines) if line.moves]
        empty = [None] * (self.weights - len(weights))
        times = [at for at, line in enumerate(lines) if line.moves_in_time]
        others = [at for at in range(len(lines)) if at not in {*weights, *times}]
        return [*weights, *empty, *times, *others]


@dataclass(frozen=True, kw_only=True)
class Found:
    """The balance of every kit, a column each.

    Attributes
    ----------
    after_mg: of the additions of which the weight moves.
    minutes: of those of which the boil time moves.
    limited: of all these, whether one was held at a limit that nothing else makes up for.
    unchanged, corrected: IBU of the kit at today's weights and minutes, and at the new ones.
    undecided: the kits in which two roundings are all but equally near.
    """

    after_mg: Floats
    minutes: Whole
    limited: Marks
    unchanged: Floats
    corrected: Floats
    undecided: Whole


@dataclass(frozen=True, kw_only=True)
class _Way:
    """The weights beside one choice of minutes.

    ``over`` is by how much each way to round them passes the target (IBU): ways x kits.
    """

    below: Floats
    limited: Marks
    over: Floats


class KitsAlike:
    """Kits of one shape; ``items`` gives a number for each item code.

    Additions that hold their weight need not be as many: they are padded with nothing.
    """

    def __init__(self, kits: Sequence[BoundKit], items: Mapping[str, int]) -> None:
        shape = Shape.of(kits[0])
        rows = [
            [None if at is None else kit.hop_lines[at] for at in shape.laid_out(kit)]
            for kit in kits
        ]
        slots = max(map(len, rows))

        def array(value: Callable[[BoundKit, HopLine], float], pad: float = 0.0) -> Floats:
            result = np.full((slots, len(kits)), pad)
            for column, (kit, lines) in enumerate(zip(kits, rows, strict=True)):
                for row, line in enumerate(lines):
                    if line:
                        result[row, column] = value(kit, line)
            return result

        moving = slice(0, shape.weights)
        self._moving = moving
        self._timed = slice(shape.weights, shape.moving)
        self._steady = slice(shape.moving, slots)
        item = array(lambda _, line: items[line.item], -1)
        self._of_item = {number: item == number for number in items.values()}
        self._alpha = array(lambda _, line: line.effective_alpha, 1.0)
        self._today = array(_today)
        self._target = np.array([kit.target_ibu for kit in kits])
        ibu = array(lambda _, line: line.ibu_per_gram / MG_PER_G * line.reference_mg)
        self._held = ibu[self._steady]
        self._step_mg = np.array([float(kit.resolution_mg) for kit in kits])
        self._step_ibu = array(_step_ibu)[moving]
        self._own = array(_own_steps)[moving]
        self._share = array(_share_steps)[moving]
        self._most = array(_most_steps)[moving]
        self._whole_most = np.floor(self._most + NO_STEP)
        self._most_ibu = self._most * self._step_ibu
        self._nothing = NOTHING_MG / self._step_mg
        self._ups = np.array(list(product((0.0, 1.0), repeat=shape.weights)))
        self._absorbed = shape.absorbed
        own_ibu = array(lambda _, line: line.reference_ibu)
        self._holding = own_ibu[moving] * (self._own > 0)
        self._whole = own_ibu[self._timed].sum(axis=0)
        timed = [[line for line in row if line and line.moves_in_time] for row in rows]
        self._times = TimesAlike(timed) if shape.times else None

    def balanced(self, item: int, alpha: float) -> Found:
        """Return every kit with the lines of an item at another alpha (by what its form gives)."""
        alphas = self._alpha
        if item in self._of_item:
            alphas = np.where(self._of_item[item], alpha, alphas)
        moving = alphas[self._moving]
        step_ibu = self._step_ibu * moving
        wanted = self._target - (self._held * alphas[self._steady]).sum(axis=0)
        left = wanted
        if self._some_hold:
            left = wanted - np.minimum(self._holding, self._most_ibu * moving).sum(axis=0)
        unchanged = (self._today * alphas).sum(axis=0)
        if self._times is None:
            way = self._way((self._own + left * self._share) / moving, step_ibu, wanted)
            return self._found([way], None, unchanged)
        part = 1.0 if self._absorbed else left / self._whole
        asked = self._times.asked(alphas[self._timed], part)
        ways = [
            self._way(
                (self._own + (left - boiled) * self._share) / moving,
                step_ibu,
                wanted - boiled - bar,
            )
            for boiled, bar in asked.ways()
        ]
        return self._found(ways, asked, unchanged)

    @cached_property
    def _some_hold(self) -> bool:
        return bool(self._holding.any())

    def _way(self, exact: Floats, step_ibu: Floats, wanted: Floats) -> _Way:
        """Return every rounding of the weights, which are to give ``wanted`` IBU together."""
        if not exact.size:
            return _Way(below=exact, limited=exact > 0, over=-wanted[None])
        within = np.minimum(np.maximum(exact, 0.0), self._whole_most) + NO_STEP
        below = np.floor(within)
        rise = np.where(within - below < 2 * NO_STEP, NEVER, step_ibu)
        return _Way(
            below=below,
            limited=(exact < -self._nothing) | (exact > self._most + self._nothing),
            over=self._ups @ rise + ((below * step_ibu).sum(axis=0) - wanted),
        )

    def _found(self, ways: Sequence[_Way], asked: Asked | None, unchanged: Floats) -> Found:
        """Return the nearest rounding of each kit."""
        over = np.concatenate([way.over for way in ways])
        misses = np.abs(over)
        close = misses <= misses.min(axis=0) + _CLOSE_IBU
        below, limited, up = ways[0].below, ways[0].limited, close
        minutes = np.empty((0, len(self._target)), dtype=np.int64)
        if asked:
            by_way = close.reshape(len(ways), len(self._ups), -1)
            chosen, up = by_way.any(axis=1), by_way.any(axis=0)
            for way, mark in zip(ways[1:], chosen[1:], strict=True):
                below = np.where(mark, way.below, below)
                limited = np.where(mark, way.limited, limited)
            limited = np.concatenate((limited, asked.beyond & (not self._absorbed)))
            minutes = asked.of_way(chosen.argmax(axis=0))
        return Found(
            after_mg=(below + self._ups.T @ up) * self._step_mg,
            minutes=minutes,
            limited=limited,
            unchanged=unchanged,
            corrected=self._target + (over * close).sum(axis=0),
            undecided=_more_than_one(close),
        )


def _absorbs(line: HopLine) -> bool:
    return line.role is HopRole.ABSORB


def _today(kit: BoundKit, line: HopLine) -> float:
    """Return the IBU that today's weight and minutes would give if the hop were all alpha acid."""
    weight_mg = (kit.current_mg or {}).get(line.line, line.reference_mg)
    minutes = (kit.current_minutes or {}).get(line.line, line.minutes)
    at = minutes if line.moves_in_time else None
    return weight_mg * line.ibu_per_mg_at(at) / line.effective_alpha


def _step_ibu(kit: BoundKit, line: HopLine) -> float:
    """Return the IBU of one step of the resolution if the hop were all alpha acid."""
    return line.ibu_per_gram / MG_PER_G * kit.resolution_mg


def _own_steps(kit: BoundKit, line: HopLine) -> float:
    """Return the steps of pure alpha acid that keep an addition's own bitterness."""
    if _absorbs(line):
        return 0.0
    return line.reference_mg * line.reference_alpha / kit.resolution_mg


def _share_steps(kit: BoundKit, line: HopLine) -> float:
    """Return the steps of pure alpha acid that an addition takes for each IBU left."""
    if not _absorbs(line):
        return 0.0
    whole = sum(each.reference_ibu for each in kit.hop_lines if _absorbs(each))
    return line.reference_ibu / whole / _step_ibu(kit, line)


def _most_steps(kit: BoundKit, line: HopLine) -> float:
    return kit.most * line.reference_mg / kit.resolution_mg


def _more_than_one(marks: Marks) -> Whole:
    """Return the columns with more than one mark, of columns that have one at least."""
    if np.count_nonzero(marks) == marks.shape[1]:
        return np.empty(0, dtype=np.int64)
    return np.flatnonzero(marks.sum(axis=0) > 1)
