"""The mix: how many of each kit to pack when something is short.

Firm orders come first, the earlier promised before the later; then what is left of stock earns the
most margin. The linear programme says what the mix could earn at most if kits could be divided, and
what one more unit of a short item would be worth. Rounding it down and topping up gives whole kits
at once; an integer programme then looks for better ones and states how far from the best they can
be. What is kept is counted again in whole units of stock.

Two stouts are promised. Of 6 kg of oats and 40 kg of malt, eight stouts and two witbiers earn the
most; one more unit of oats would then be worth 7.33, for 41 units more.

>>> stout = MixKit(kit="STOUT", firm=(2,), most=10, earns=900_000, takes={"oats": 5, "malt": 40})
>>> wit = MixKit(kit="WIT", firm=(0,), most=10, earns=1_200_000, takes={"oats": 10, "malt": 35})
>>> found = mixed([stout, wit], {"oats": 60, "malt": 400})
>>> found.kits, found.firm_served, found.earns
({'STOUT': 8, 'WIT': 2}, (2,), 9600000)
>>> [(price.item, round(price.worth), price.valid_for) for price in found.prices]
[('oats', 73333, 41), ('malt', 13333, 35)]
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import ceil, floor, isclose

from planning.engine.linear import Answer, Row, best
from planning.engine.usage import quantity_needed

GAP = 1e-4
"""The share of the bound by which the integer answer may miss it before the search ends."""
NODES = 2_000
"""Nodes of the integer search; no clock, so that the answer is the same on every machine."""
_WHOLE = 1e-6  # solvers return 3.9999999 for 4
_SLACK = 1e-8  # what an earlier aim may give up to a later one: more than solvers let slip
_ALLOWANCE = 10.0  # how much farther what was given up may move the end of a price
_FAR = float(1 << 53)
_STEP = 1e-2  # of what a kit takes: more than solvers let slip
_ALIKE = 1e-3  # two prices of one item so near are one price


@dataclass(frozen=True, kw_only=True)
class MixKit:
    """A kit that might be packed.

    Attributes
    ----------
    firm: kits firmly ordered, by promise: the earliest first; of one length for every kit.
    most: the most kits worth packing, firm ones among them.
    earns: margin of one kit in ten-thousandths; it may be negative.
    takes: whole units of stock in one kit, by item; ``overage`` the share on top, by item.
    """

    kit: str
    firm: tuple[int, ...]
    most: int
    earns: int
    takes: Mapping[str, int]
    overage: Mapping[str, float] = field(default_factory=dict)

    def needed(self, item: str, kits: int) -> int:
        """Return what so many kits take of an item, in whole units of stock."""
        return quantity_needed(kits, self.takes.get(item, 0), self.overage.get(item, 0.0))

    def each(self, item: str) -> float:
        """Return what a kit takes of an item on average, its overage included."""
        return self.takes.get(item, 0) * (1 + self.overage.get(item, 0.0))


@dataclass(frozen=True, kw_only=True)
class ShadowPrice:
    """What one more unit of stock of a short item would be worth.

    ``firm`` is how many firm kits more it would serve a unit, of the first promise that needs it.
    Where it would serve none, ``worth`` is what it would earn in ten-thousandths a unit. Either
    holds for ``valid_for`` units more, one at least.
    """

    item: str
    worth: float
    firm: float
    valid_for: int


@dataclass(frozen=True, kw_only=True)
class Mix:
    """Whole kits of each kind, and how good the answer is known to be.

    Attributes
    ----------
    firm_served: firm kits by promise, the earliest first.
    earns: margin of all the kits in ten-thousandths; ``relaxed`` what it could be at most if kits
        could be divided.
    bound: what no whole kits can pass that serve as many firm orders; ``gap`` is the share of it
        that might still be had; ``proved`` where that is nothing worth a search.
    left: whole units of stock that stay, by item.
    prices: of the items that hold the mix back, the dearest first.
    """

    kits: Mapping[str, int]
    firm_served: tuple[int, ...]
    earns: int
    relaxed: float
    bound: float
    gap: float
    proved: bool
    left: Mapping[str, int]
    prices: tuple[ShadowPrice, ...]


def mixed(
    kits: Sequence[MixKit],
    stock: Mapping[str, int],
    *,
    gap: float = GAP,
    nodes: int = NODES,
    report: Callable[[int, int, str], None] | None = None,
) -> Mix:
    """Return how many of each kit to pack from this stock.

    Parameters
    ----------
    kits: what might be packed; what they take of an item that ``stock`` does not name is not short.
    stock: whole units available by item; less than none is none.
    gap, nodes: when the integer search ends.
    report: told the stage and how many there are.

    Raises
    ------
    ValueError: a kit without a name of its own, or promises of different length.
    """
    _check(kits)
    problem = _Problem(kits=kits, stock={item: max(units, 0) for item, units in stock.items()})
    stages = 2 * (problem.promises + 1)
    told = report or _unheard
    relaxed: list[Answer] = []
    for stage in range(problem.promises + 1):
        told(stage, stages, "bounding")
        relaxed.append(problem.solved(stage, [answer.value for answer in relaxed]))
    whole = problem.topped_up(problem.rounded_down(relaxed[-1]))
    kept: list[float] = []
    answer = relaxed[-1]
    for stage in range(problem.promises + 1):
        told(problem.promises + 1 + stage, stages, "looking for whole kits")
        start = problem.columns(whole)
        answer = problem.solved(stage, kept, whole=True, gap=gap, nodes=nodes, start=start)
        found = problem.topped_up(problem.rounded_down(answer))
        whole = max(whole, found, key=problem.worth)
        kept.append(float(problem.worth(whole)[stage]))
    *served, earns = problem.worth(whole)
    bound = max(answer.bound, float(earns))
    missed = (bound - earns) / max(abs(bound), 1.0)
    return Mix(
        kits={kit.kit: number for kit, number in zip(kits, whole, strict=True)},
        firm_served=tuple(served),
        earns=earns,
        relaxed=relaxed[-1].value,
        bound=bound,
        gap=missed,
        proved=answer.proved and missed <= gap,
        left=problem.left(whole),
        prices=problem.prices(relaxed),
    )


def _unheard(done: int, of: int, stage: str) -> None:
    """Hear nothing."""


def _given_up(reached: float) -> float:
    """Return what an aim that reached this much may give up to later ones, in its own unit."""
    return _SLACK * max(1.0, abs(reached))


def _check(kits: Sequence[MixKit]) -> None:
    if len({kit.kit for kit in kits}) < len(kits):
        msg = "every kit of a mix needs a name of its own"
        raise ValueError(msg)
    if len({len(kit.firm) for kit in kits}) > 1:
        msg = "every kit of a mix needs its firm orders by the same promises"
        raise ValueError(msg)


@dataclass(frozen=True, kw_only=True)
class _Problem:
    """The programme: of each kit a column for every promise, and one for kits beyond them."""

    kits: Sequence[MixKit]
    stock: Mapping[str, int]

    @property
    def promises(self) -> int:
        return len(self.kits[0].firm) if self.kits else 0

    @property
    def width(self) -> int:
        return self.promises + 1

    @property
    def tops(self) -> list[float]:
        """The most of every column."""
        tops: list[float] = []
        for kit in self.kits:
            left = kit.most
            for promised in kit.firm:
                taken = min(promised, left)
                tops.append(taken)
                left -= taken
            tops.append(left)
        return tops

    @property
    def items(self) -> list[str]:
        """The items that any of these kits takes and that can run out."""
        return [item for item in self.stock if any(kit.takes.get(item) for kit in self.kits)]

    def aim(self, stage: int) -> list[float]:
        """Return what a stage makes large: firm kits of a promise, and at last the margin."""
        if stage < self.promises:
            return [float(place == stage) for _ in self.kits for place in range(self.width)]
        return [float(kit.earns) for kit in self.kits for _ in range(self.width)]

    def solved(
        self,
        stage: int,
        kept: Sequence[float],
        *,
        whole: bool = False,
        gap: float = GAP,
        nodes: int = NODES,
        start: Sequence[float] | None = None,
    ) -> Answer:
        """Solve one aim; those before it are kept at what they reached.

        What kits take is counted without rounding, so that no true answer is shut out.
        """
        rows = [self._stock_row(item) for item in self.items]
        rows += [
            Row(least=reached - _given_up(reached), weights=self.aim(done))
            for done, reached in enumerate(kept)
        ]
        return best(
            self.aim(stage), rows, most=self.tops, whole=whole, gap=gap, nodes=nodes, start=start
        )

    def _stock_row(self, item: str) -> Row:
        """Return what kits take of an item, in units of what the kit takes that takes most."""
        unit = self.unit(item)
        weights = [kit.each(item) / unit for kit in self.kits for _ in range(self.width)]
        return Row(most=self.stock[item] / unit, weights=weights)

    def unit(self, item: str) -> float:
        """Return the most that any kit takes of an item: rows of one size are solved exactly."""
        return max(kit.each(item) for kit in self.kits)

    def rounded_down(self, answer: Answer) -> list[int]:
        """Return whole kits that fit: each number rounded down, and fewer where that is not so."""
        numbers = []
        left = {item: self.stock[item] for item in self.items}
        for at, kit in enumerate(self.kits):
            columns = answer.columns[at * self.width : (at + 1) * self.width]
            number = min(floor(sum(columns) + _WHOLE), kit.most)
            while number and any(kit.needed(item, number) > left[item] for item in left):
                number -= 1
            for item in left:
                left[item] -= kit.needed(item, number)
            numbers.append(number)
        return numbers

    def topped_up(self, numbers: Sequence[int]) -> list[int]:
        """Add one kit at a time while one fits: first what is promised earliest, then what earns.

        Nothing that would lose money is added beyond what is promised.
        """
        now = list(numbers)
        left = self.left(now)
        while True:
            fitting = [
                at
                for at, kit in enumerate(self.kits)
                if now[at] < kit.most
                and (kit.earns > 0 or now[at] < sum(kit.firm))
                and all(
                    kit.needed(item, now[at] + 1) - kit.needed(item, now[at]) <= left[item]
                    for item in left
                )
            ]
            if not fitting:
                return now
            chosen = min(fitting, key=lambda at: (self._promise(at, now[at]), -self.kits[at].earns))
            kit = self.kits[chosen]
            for item in left:
                left[item] -= kit.needed(item, now[chosen] + 1) - kit.needed(item, now[chosen])
            now[chosen] += 1

    def _promise(self, at: int, number: int) -> int:
        """Return which promise the next kit would serve; the last place is none."""
        served = 0
        for place, promised in enumerate(self.kits[at].firm):
            served += promised
            if number < served:
                return place
        return self.promises

    def left(self, numbers: Sequence[int]) -> dict[str, int]:
        """Return what stays of each item that can run out."""
        return {
            item: self.stock[item]
            - sum(kit.needed(item, number) for kit, number in zip(self.kits, numbers, strict=True))
            for item in self.items
        }

    def columns(self, numbers: Sequence[int]) -> list[float]:
        """Return whole kits as columns, the earliest promise filled first."""
        columns: list[float] = []
        tops = self.tops
        for at, number in enumerate(numbers):
            left = number
            for top in tops[at * self.width : (at + 1) * self.width]:
                taken = min(left, int(top))
                columns.append(float(taken))
                left -= taken
        return columns

    def worth(self, numbers: Sequence[int]) -> tuple[int, ...]:
        """Return the aims in their order: firm kits by promise, then the margin."""
        columns = self.columns(numbers)
        served = [
            int(sum(columns[at * self.width + place] for at in range(len(self.kits))))
            for place in range(self.promises)
        ]
        earns = sum(kit.earns * number for kit, number in zip(self.kits, numbers, strict=True))
        return (*served, earns)

    def prices(self, relaxed: Sequence[Answer]) -> tuple[ShadowPrice, ...]:
        """Return what holds the mix back, each item by the first aim that more of it serves.

        More of it leaves the aims before that one where they are, so that its price is exact.
        """
        found = []
        for row, item in enumerate(self.items):
            for stage in range(len(relaxed)):
                price, holds = self._price(relaxed, stage, row)
                if holds:
                    firm, worth = (price, 0.0) if stage < self.promises else (0.0, price)
                    found.append(ShadowPrice(item=item, worth=worth, firm=firm, valid_for=holds))
                    break
        return tuple(sorted(found, key=lambda price: (-price.firm, -price.worth, price.item)))

    def _price(self, relaxed: Sequence[Answer], stage: int, row: int) -> tuple[float, int]:
        """Return what one unit more adds to an aim, and for how many units; 0 for nothing.

        Where stock is used up just as something else is, a solver may price one unit less: there
        the aim is solved with a little more, and the difference counts.
        """
        now, item = relaxed[stage], self.items[row]
        kept = [answer.value for answer in relaxed[:stage]]
        price, holds = self._read(now, kept, row)
        if not price or holds:
            return price, holds
        step = ceil(self.unit(item) * _STEP)
        beyond = replace(self, stock={**self.stock, item: self.stock[item] + step})
        more = beyond.solved(stage, kept)
        gained = more.value - now.value
        if gained <= _WHOLE * max(1.0, abs(now.value)):
            return 0.0, 0
        price, holds = beyond._read(more, kept, row)
        same = isclose(price * step, gained, rel_tol=_ALIKE)
        return gained / step, step + holds * same

    def _read(self, answer: Answer, kept: Sequence[float], row: int) -> tuple[float, int]:
        """Return a row's price, and for how many units more: the same whichever way it was solved.

        What earlier aims gave up is kits, and moves the end of a price by what those kits take.
        """
        if answer.prices[row] <= _WHOLE:
            return 0.0, 0
        unit = self.unit(self.items[row])
        reach = max(answer.reaches[row] - self.stock[self.items[row]] / unit, 0.0)
        allowed = _WHOLE * (reach + 1 / unit) + _ALLOWANCE * sum(map(_given_up, kept))
        return answer.prices[row] / unit, floor(min((reach + allowed) * unit, _FAR))
