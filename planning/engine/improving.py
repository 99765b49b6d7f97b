"""Lots for the runs of a horizon: the greedy answer, and what a search makes better of it.

1. Where kits are lost, what is promised is served day by day. Then an integer programme says how
   many kits of each line to aim for; the greedy way is gone again with that, and what still lacks
   kits is served with what is left.
2. Lines in several batches are served anew, alone or beside another that takes of the same items,
   each from what both give up; what still lacks kits is served with what that leaves.
3. Variety by variety, an integer programme chooses its lots over all lines, and the lines that it
   changes are cut anew with their change points lined up.
4. Lines with more changes than their lots ask for are lined up with what their lots have left, and
   then once more served anew beside others.

Whatever comes out of a step is reckoned anew in whole units and kept only if it is better in the
order of the aims, so the answer is never worse than the greedy one. Nothing looks at a clock. A
person may stop it at any time and keeps the best answer so far.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from planning.engine.aims import Aims, aims_of
from planning.engine.cutting import Stretch
from planning.engine.exchanging import exchanged
from planning.engine.fewest_batches import fewest_batches
from planning.engine.horizon import Answer, Horizon, PackLine, kits_of
from planning.engine.most_kits import most_kits
from planning.engine.programme import NODES, never
from planning.engine.recheck import faults
from planning.engine.relining import heaviest, kits_by_lot, recut, relined
from planning.engine.serving import by_promised_day, greedy, literal, topped_up
from planning.engine.variety import Pair, VarietyCase, variety_choice

_ROUNDS = 2
"""How often the most kits are asked for anew, with what has become short besides."""

Report = Callable[[int, int, str], None]


@dataclass(frozen=True, kw_only=True)
class Allocated:
    """Lots for the runs of a horizon, and how good the answer is known to be.

    Attributes
    ----------
    answer, aims: the best found, and what it comes to.
    greedy, literal: what the greedy answer and first expired first out taken literally come to.
    most_kits: no answer that serves as many firm orders packs more; fewest_batches: none with
        these kits has fewer.
    stopped: whether a person ended the search.
    """

    answer: Answer
    aims: Aims
    greedy: Aims
    literal: Aims
    most_kits: int
    fewest_batches: int
    stopped: bool

    @property
    def proved(self) -> bool:
        """Whether, with the firm orders as they are served, nothing better can exist."""
        return self.aims.kits >= self.most_kits and self.aims.batches <= self.fewest_batches

    @property
    def gap(self) -> float:
        """The share of its batches that a better answer might save at the most."""
        if not self.aims.batches:
            return 0.0
        return (self.aims.batches - self.fewest_batches) / self.aims.batches


def _silent(done: int, total: int, what: str) -> None:
    """Report nothing."""


def allocated(
    horizon: Horizon,
    *,
    nodes: int = NODES,
    report: Report = _silent,
    stop: Callable[[], bool] = never,
) -> Allocated:
    """Return the best lots found for a horizon.

    Parameters
    ----------
    nodes: the most nodes of each programme.
    report: told before each step how many steps are done, of how many, and what is next.
    stop: asked between programmes and by the solver; true ends the search.
    """
    search = _Search(horizon, nodes=nodes, stop=stop)
    varieties = search.varieties()
    total = len(varieties) + 5
    report(0, total, "serving run after run")
    search.begin()
    report(1, total, "the most kits")
    most = search.more_kits()
    report(2, total, "serving lines anew two by two")
    search.exchange()
    for done, item in enumerate(varieties, start=3):
        report(done, total, f"lots of {item}")
        search.choose(item)
    report(total - 2, total, "lining up changes")
    search.line_up()
    search.exchange()
    report(total - 1, total, "the fewest batches there could be")
    fewest = fewest_batches(horizon, search.answer, nodes=nodes, stop=stop)
    return Allocated(
        answer=search.answer,
        aims=search.aims,
        greedy=search.greedy,
        literal=aims_of(horizon, literal(horizon)),
        most_kits=most,
        fewest_batches=min(fewest, search.aims.batches),
        stopped=stop(),
    )


class _Search:
    """The best answer so far."""

    answer: Answer
    aims: Aims
    greedy: Aims

    def __init__(self, horizon: Horizon, *, nodes: int, stop: Callable[[], bool]) -> None:
        self._horizon = horizon
        self._nodes = nodes
        self._stop = stop

    def begin(self) -> None:
        """Start from the greedy answer."""
        self.answer = greedy(self._horizon)
        self.aims = self.greedy = aims_of(self._horizon, self.answer)

    def offer(self, answer: Answer | None) -> bool:
        """Keep an answer if it is sound and better; say whether it was."""
        if answer is None:
            return False
        aims = aims_of(self._horizon, answer)
        if aims.worth <= self.aims.worth or faults(self._horizon, answer):
            return False
        self.answer, self.aims = answer, aims
        return True

    def more_kits(self) -> int:
        """Aim for the most kits where some are lost; return how many there can be at the most."""
        wanted = sum(line.kits for line in self._horizon.lines)
        if (self.aims.kits == wanted and not self.aims.under_minimum) or self._stop():
            return wanted
        self.offer(by_promised_day(self._horizon))
        most, short = wanted, frozenset[str]()
        for _ in range(_ROUNDS):
            found = most_kits(
                self._horizon, self.answer, also=short, nodes=self._nodes, stop=self._stop
            )
            if found is None:
                break
            most, before = min(most, found.most), self.aims.kits
            for shares in (None, found.shares):
                cut = greedy(self._horizon, found.kits, shares)
                self.offer(cut)
                self.offer(topped_up(self._horizon, cut))
            if found.short == short or self.aims.kits in (before, most):
                break
            short = found.short
        return max(most, self.aims.kits)

    def exchange(self) -> None:
        """Serve lines in several batches anew beside others, and what still lacks kits with it."""
        self.offer(exchanged(self._horizon, self.answer, stop=self._stop))
        self.offer(topped_up(self._horizon, self.answer))

    def varieties(self) -> list[str]:
        """Return the items of which a line has a choice, by name."""
        return sorted(
            {
                item
                for line in self._horizon.lines
                for item, lots in line.usable.items()
                if len(lots) > 1
            }
        )

    def choose(self, item: str) -> None:
        """Choose the lots of one variety over all lines."""
        if self._stop():
            return
        case = self._case(item)
        choice = variety_choice(case, nodes=self._nodes, stop=self._stop) if case.pairs else None
        if choice is None:
            return
        chosen: dict[int, dict[int, int]] = {}
        for (line, lot), kits in choice.kits.items():
            chosen.setdefault(line, {})[lot] = kits
        changed = {
            line: kits
            for line, kits in chosen.items()
            if kits != kits_by_lot(self.answer[line], item)
        }
        if changed:
            self.offer(recut(self._horizon, self.answer, item, changed))

    def line_up(self) -> None:
        """Line up the changes of every line that has more batches than lots of any variety."""
        for line in self._horizon.lines:
            stretches = self.answer[line.line]
            if len(stretches) > _most_lots(line, stretches) and not self._stop():
                self.offer(relined(self._horizon, self.answer, line))

    def _case(self, item: str) -> VarietyCase:
        lines = [
            line
            for line in self._horizon.lines
            if item in line.kit.items and self.answer[line.line]
        ]
        start = {
            (line.line, lot): kits
            for line in lines
            for lot, kits in kits_by_lot(self.answer[line.line], item).items()
        }
        return VarietyCase(
            kits={line.line: kits_of(self.answer[line.line]) for line in lines},
            least={
                line.line: min(
                    line.least, *(kits for (at, _), kits in start.items() if at == line.line)
                )
                for line in lines
            },
            others={line.line: _most_lots(line, self.answer[line.line], item) for line in lines},
            pairs=[pair for line in lines for pair in self._pairs(line, item, start)],
            stock=self._stock(item, lines),
            rests=self._horizon.rests,
            start=start,
        )

    def _stock(self, item: str, lines: list[PackLine]) -> dict[int, int]:
        """Return what the lots of an item have for these lines."""
        return {
            lot.lot: self._horizon.stock[lot.lot] for line in lines for lot in line.usable[item]
        }

    def _pairs(self, line: PackLine, item: str, start: Mapping[tuple[int, int], int]) -> list[Pair]:
        stretches = self.answer[line.line]
        rounding = len([at for at in line.kit.hop_lines if at.item == item]) or 1
        pairs: list[Pair] = []
        for lot in line.usable[item]:
            each = heaviest(line, stretches, item, lot)
            if (line.line, lot.lot) in start or each is not None:
                pairs.append(
                    Pair(
                        line=line.line,
                        lot=lot.lot,
                        each=each or 0.0,
                        rounding=rounding if line.kit.overage.get(item) else 0,
                        passed=line.passed[lot.lot],
                        weak=lot.lot in line.weak,
                    )
                )
        return pairs


def _most_lots(line: PackLine, stretches: tuple[Stretch, ...], but: str = "") -> int:
    """Return the most lots of one variety that a line uses, of all varieties but one."""
    return max(
        (len(kits_by_lot(stretches, item)) for item in line.kit.items if item != but), default=1
    )
