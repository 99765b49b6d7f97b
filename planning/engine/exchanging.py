"""Run lines served anew two by two, each from what both of them give up.

What a line takes was chosen beside what the others had taken by then. A line in several batches
gives back its lots, alone or with another line that takes of an item of which it changes lots, and
they are served again one after the other, in either order, with the kits that they have. That is
kept where it makes fewer batches under the minimum, or as many of these and fewer batches in all;
no other line changes, and no kit is lost.

Lines are tried in the order in which they are served, again and again until none gains any more,
or until as many ways were tried as one search may try.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence

from planning.engine.cutting import Cutting, Stretch
from planning.engine.horizon import Answer, Horizon, PackLine, kits_of, left_after, taken_by
from planning.engine.programme import never
from planning.engine.relining import give

TRIED = 2_500
"""Ways to serve one or two lines anew that one search tries."""

_Cuts = Mapping[int, tuple[Stretch, ...]]


def exchanged(
    horizon: Horizon, answer: Answer, *, tried: int = TRIED, stop: Callable[[], bool] = never
) -> Answer:
    """Return the answer with lines served anew where that makes fewer batches.

    Parameters
    ----------
    tried: the most ways that are tried, each to serve one line or two.
    stop: asked before each line; true ends it with what was gained so far.
    """
    exchange = _Exchange(horizon, answer, tried)
    while exchange.gained(stop):
        pass
    return exchange.answer


class _Exchange:
    """An answer of which one or two lines change at a time, and what it leaves of every lot."""

    def __init__(self, horizon: Horizon, answer: Answer, tried: int) -> None:
        self.answer = {line.line: answer.get(line.line, ()) for line in horizon.lines}
        self._lines = horizon.lines
        self._left = left_after(horizon, answer)
        self._tries = tried
        self._of_item: dict[str, list[PackLine]] = defaultdict(list)
        for line in horizon.lines:
            for item in line.kit.items if self.answer[line.line] else ():
                self._of_item[item].append(line)

    def gained(self, stop: Callable[[], bool]) -> bool:
        """Try every line in several batches once; return whether any of them gained."""
        gained = False
        for line in self._lines:
            if len(self.answer[line.line]) > 1 and not stop():
                gained |= any(self._served_anew(lines) for lines in self._neighbours(line))
        return gained

    def _neighbours(self, line: PackLine) -> Iterator[list[PackLine]]:
        """Yield a line alone, and then beside each other that takes of what it changes lots of."""
        yield [line]
        stretches = self.answer[line.line]
        others = {
            other.line: other
            for item in line.kit.items
            if len({stretch.lots[item].lot for stretch in stretches}) > 1
            for other in self._of_item[item]
            if other is not line
        }
        for other in others.values():
            yield [line, other]

    def _served_anew(self, lines: Sequence[PackLine]) -> bool:
        """Serve lines from what they give up and what is left; return whether that is better."""
        before = _batches(lines, self.answer)
        free = dict(self._left)
        for line in lines:
            give(free, taken_by(line, self.answer[line.line]))
        for order in (lines, lines[::-1])[: len(lines)]:
            if self._tries <= 0:
                return False
            self._tries -= 1
            left = dict(free)
            cuts = self._cut(order, left)
            if cuts and _batches(lines, cuts) < before:
                self.answer.update(cuts)
                self._left = left
                return True
        return False

    def _cut(
        self, lines: Sequence[PackLine], left: dict[int, int]
    ) -> dict[int, tuple[Stretch, ...]] | None:
        """Return the lines served one after the other with the kits they have, if they can be.

        What they take is taken off what is left.
        """
        cuts: dict[int, tuple[Stretch, ...]] = {}
        for line in lines:
            kits = kits_of(self.answer[line.line])
            search = Cutting(
                kit=line.kit,
                sheets=line.sheets,
                lots_by_item=line.within(left),
                minimum_kits=min(line.least, kits),
            )
            cuts[line.line] = tuple(search.stretches(kits))
            if kits_of(cuts[line.line]) < kits:
                return None
            give(left, taken_by(line, cuts[line.line]), times=-1)
        return cuts


def _batches(lines: Sequence[PackLine], cuts: _Cuts) -> tuple[int, int]:
    """Return the batches under the minimum, and the batches in all."""
    stretches = [(line, stretch) for line in lines for stretch in cuts[line.line]]
    return sum(stretch.kits < line.least for line, stretch in stretches), len(stretches)
