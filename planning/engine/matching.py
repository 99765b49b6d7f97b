"""Which yeast lot goes to which run: an older lot serves a kit that needs fewer cells.

A lot gives a kit its strength: the living share of a pack on that kit's pitch day, times its fill.
Kits of one line may come from several lots; one kit never does. What is wanted, in this order:

1. the most kits pitched at their target;
2. then the most kits pitched at their floor or more;
3. then the most packs from the oldest lot, then from the next oldest, and so on;
4. then the largest sum of what the kits are given, each up to its target.

It starts from the best of a few greedy answers (each lot, the oldest first, to the kits that fewest
other lots can serve, or to those of fewest packs) and improves it by branch and bound. The search
ends by a number of steps, never by a clock, so the answer is the same on every machine; ``proved``
says that no better one exists.

An old lot of two packs and a young one of two, for a light and a strong kit of one pack each:

>>> old = YeastLot(code="OLD", packs=2, born_on=date(2026, 9, 1), strength={"L": 0.6, "S": 0.6})
>>> young = YeastLot(code="NEW", packs=2, born_on=date(2026, 11, 1), strength={"L": 0.9, "S": 0.9})
>>> light = YeastNeed(key="L", kits=2, packs=1, asked=0.5, pack_on=date(2026, 12, 1))
>>> strong = YeastNeed(key="S", kits=2, packs=1, asked=0.9, pack_on=date(2026, 12, 1))
>>> matched([young, old], [strong, light]).kits
{('OLD', 'L'): 2, ('NEW', 'S'): 2}
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from planning.engine.pitching import enough, pitched_share

MOST_STEPS = 10_000
_WHOLE = 1_000_000


@dataclass(frozen=True, kw_only=True)
class YeastLot:
    """A lot that can be taken: whole packs, its birthday, its last day, its strength by need."""

    code: str
    packs: int
    born_on: date
    strength: Mapping[str, float]
    last_day: date | None = None


@dataclass(frozen=True, kw_only=True)
class YeastNeed:
    """Kits of one run line: packs in each, the fresh packs each asks for, its target and floor."""

    key: str
    kits: int
    packs: int
    asked: float
    pack_on: date
    target: float = 1.0
    floor: float = 0.5


@dataclass(frozen=True, kw_only=True)
class Assignment:
    """Kits by (lot, need), none of them zero, the oldest lot first; what it comes to in all.

    ``unserved`` is kits by need that no lot is left for.
    """

    kits: Mapping[tuple[str, str], int]
    at_target: int
    served: int
    unserved: Mapping[str, int]
    proved: bool


@dataclass(frozen=True, kw_only=True)
class _Pair:
    """One lot for one need, by their places; ``given`` is millionths of the target, at most all."""

    lot: int
    need: int
    given: int

    @property
    def full(self) -> bool:
        """Whether the lot reaches the target."""
        return self.given == _WHOLE


@dataclass(kw_only=True)
class _Search:
    """The state of the search: kits by pair, and the packs and kits that are left."""

    needs: Sequence[YeastNeed]
    pairs: Sequence[_Pair]
    packs: list[int]
    wanted: list[int]
    chosen: list[int]
    best: list[int]
    best_worth: tuple[int, ...]
    lots: int
    steps: int = MOST_STEPS
    later: list[list[_Pair]] = field(default_factory=list)

    def worth(self, chosen: Sequence[int]) -> tuple[int, ...]:
        """Return the aims as numbers to be made large, in their order."""
        used = [0] * self.lots
        full = served = given = 0
        for pair, kits in zip(self.pairs, chosen, strict=True):
            given += kits * pair.given
            used[pair.lot] += kits * self.needs[pair.need].packs
            served += kits
            full += kits if pair.full else 0
        return (full, served, *used, given)

    def explore(self, depth: int) -> None:
        """Try every number of kits for the pairs from ``depth`` on, the most first."""
        if self.steps <= 0:
            return
        self.steps -= 1
        if depth == len(self.pairs):
            worth = self.worth(self.chosen)
            if worth > self.best_worth:
                self.best, self.best_worth = list(self.chosen), worth
            return
        if self._bound(depth) <= self.best_worth:
            return
        pair = self.pairs[depth]
        each = self.needs[pair.need].packs
        for kits in range(min(self.wanted[pair.need], self.packs[pair.lot] // each), -1, -1):
            self._take(pair, depth, kits)
            self.explore(depth + 1)
            self._take(pair, depth, -kits)

    def _take(self, pair: _Pair, depth: int, kits: int) -> None:
        self.chosen[depth] += kits
        self.wanted[pair.need] -= kits
        self.packs[pair.lot] -= kits * self.needs[pair.need].packs

    def _bound(self, depth: int) -> tuple[int, ...]:
        """Return what the rest could add if no two needs wanted the same packs twice over."""
        full, served, *used, given = self.worth(self.chosen)
        rest = self.later[depth]
        full += self._most_kits(pair for pair in rest if pair.full)
        more = self._most_kits(rest)
        for lot in {pair.lot for pair in rest}:
            wanted = sum(
                self.wanted[pair.need] * self.needs[pair.need].packs
                for pair in rest
                if pair.lot == lot
            )
            used[lot] += min(self.packs[lot], wanted)
        best = {
            need: max(p.given for p in rest if p.need == need) for need in {p.need for p in rest}
        }
        given += min(
            more * max(best.values(), default=0),
            sum(self.wanted[need] * most for need, most in best.items()),
        )
        return (full, served + more, *used, given)

    def _most_kits(self, pairs: Iterable[_Pair]) -> int:
        """Return the kits that these pairs could serve: by each need, and by all packs together."""
        by_need: dict[int, int] = {}
        lots: set[int] = set()
        for pair in pairs:
            each = self.needs[pair.need].packs
            by_need[pair.need] = by_need.get(pair.need, 0) + self.packs[pair.lot] // each
            lots.add(pair.lot)
        packs, kits = sum(self.packs[lot] for lot in lots), 0
        for need in sorted(by_need, key=lambda need: self.needs[need].packs):
            most = min(self.wanted[need], by_need[need], packs // self.needs[need].packs)
            kits += most
            packs -= most * self.needs[need].packs
        return kits


def matched(lots: Iterable[YeastLot], needs: Iterable[YeastNeed]) -> Assignment:
    """Return which lot serves how many kits of which need, by the aims in their order."""
    oldest_first = sorted(lots, key=lambda lot: (lot.born_on, lot.code))
    asked = list(needs)
    pairs = _pairs(oldest_first, asked)
    search = _Search(
        needs=asked,
        pairs=pairs,
        packs=[lot.packs for lot in oldest_first],
        wanted=[need.kits for need in asked],
        chosen=[0] * len(pairs),
        best=[],
        best_worth=(),
        lots=len(oldest_first),
        later=[list(pairs[depth:]) for depth in range(len(pairs))],
    )
    starts = [_greedy(oldest_first, asked, pairs, by_packs=by_packs) for by_packs in (0, 1, 2)]
    search.best = max(starts, key=search.worth)
    search.best_worth = search.worth(search.best)
    search.explore(0)
    full, served, *_ = search.best_worth
    given = [0] * len(asked)
    for pair, kits in zip(pairs, search.best, strict=True):
        given[pair.need] += kits
    return Assignment(
        kits={
            (oldest_first[pair.lot].code, asked[pair.need].key): kits
            for pair, kits in zip(pairs, search.best, strict=True)
            if kits
        },
        at_target=full,
        served=served,
        unserved={
            need.key: need.kits - done
            for need, done in zip(asked, given, strict=True)
            if done < need.kits
        },
        proved=search.steps > 0,
    )


def _pairs(lots: Sequence[YeastLot], needs: Sequence[YeastNeed]) -> list[_Pair]:
    """Return what may serve what: the oldest lot first, and for it the kits of fewest packs."""
    return [
        _Pair(lot=place, need=at, given=round(min(1.0, pitched / needs[at].target) * _WHOLE))
        for place, lot in enumerate(lots)
        for at in sorted(range(len(needs)), key=lambda at: (needs[at].packs, needs[at].asked, at))
        if lot.last_day is None or lot.last_day >= needs[at].pack_on
        if enough(pitched := _pitched(lot, needs[at]), needs[at].floor)
    ]


def _pitched(lot: YeastLot, need: YeastNeed) -> float:
    return pitched_share(
        packs=need.packs, living=lot.strength.get(need.key, 0.0), fill=1.0, asked=need.asked
    )


def _greedy(
    lots: Sequence[YeastLot], needs: Sequence[YeastNeed], pairs: Sequence[_Pair], *, by_packs: int
) -> list[int]:
    """Return a start: kits at target first, the rest at their floor, each lot in its age.

    Of what a lot can serve, the kits that fewest lots can serve come first, or (1) those of fewest
    packs; or (2) those of fewest packs, whichever lot they are from.
    """
    packs, wanted = [lot.packs for lot in lots], [need.kits for need in needs]
    chosen = [0] * len(pairs)
    for full in (True, False):
        others = {
            at: sum(pair.need == at and (pair.full or not full) for pair in pairs)
            for at in range(len(needs))
        }
        order = [
            (pair.lot, others[pair.need], at)
            if by_packs == 0
            else (pair.lot, needs[pair.need].packs, others[pair.need], at)
            if by_packs == 1
            else (needs[pair.need].packs, others[pair.need], pair.lot, at)
            for at, pair in enumerate(pairs)
        ]
        for at in sorted(range(len(pairs)), key=order.__getitem__):
            pair = pairs[at]
            if full and not pair.full:
                continue
            each = needs[pair.need].packs
            kits = min(wanted[pair.need], packs[pair.lot] // each)
            chosen[at] += kits
            wanted[pair.need] -= kits
            packs[pair.lot] -= kits * each
    return chosen
