"""What would lift a limit: another lot, a blend of two lots, or an approved substitute.

A :class:`~planning.engine.limits.Limit` says in general what helps. Here the lots at hand are
tried: each remedy is a balance of the kit that no longer meets that limit, meets no new one, and
of which the lots hold all the kits.

>>> from boxwort.figures import NO_BREAK
>>> from planning.engine.hop_line import HopLine
>>> from planning.engine.kit_sheet import balanced
>>> from recipes.brewing.roles import HopRole
>>> kit = BoundKit(
...     target_ibu=24.0, bound_items={}, resolution_mg=100,
...     hop_lines=[HopLine(
...         line="60", item="magnum", name="Magnum at 60 min", role=HopRole.ABSORB,
...         reference_mg=20_000, reference_alpha=0.050, ibu_per_gram=24.0, alpha=0.050,
...     )],
... )
>>> weak = BoundLot(lot=1, code="MAG-1", available=900_000, alpha=0.020)
>>> strong = BoundLot(lot=2, code="MAG-2", available=200_000, alpha=0.110)
>>> (limit,) = balanced(kit, {"magnum": weak}).limits
>>> for remedy in remedies(
...     limit, kit=kit, lots={"magnum": weak}, candidates={"magnum": [weak, strong]}, kits=20
... ):
...     print(remedy.sentence.replace(NO_BREAK, " "))
Weigh lot MAG-2 at 11.0 % alpha acid: Magnum at 60 min 9.1 g a kit. 20 kits take 182.0 g of the
200.0 g available; a kit comes to 24.0 IBU.
Blend lots MAG-1 at 2.0 % alpha acid and MAG-2 at 11.0 % alpha acid, 65 % to 35 %, to 5.2 %:
Magnum at 60 min 12.6 g and 6.8 g a kit. 20 kits take 252.0 g of the 900.0 g available and 136.0 g
of the 200.0 g available; a kit comes to 24.0 IBU.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import combinations, islice

from planning.engine.balance import Balance
from planning.engine.blending import blended, poured_ibu, split
from planning.engine.hop_line import HopLine
from planning.engine.kit_sheet import BoundKit, BoundLot, balanced
from planning.engine.limits import Limit
from planning.engine.remedy import (
    AnotherLot,
    ApprovedSubstitute,
    LotBlend,
    Poured,
    Remedy,
    SubstituteLot,
)
from planning.engine.usage import quantity_needed

__all__ = ["AnotherLot", "ApprovedSubstitute", "LotBlend", "Remedy", "SubstituteLot", "remedies"]

OFFERED = 3
"""Remedies of each kind; more are no help to somebody who has to choose."""

_PAIRED = 8
"""Lots of an item that are blended in pairs, the first of those given."""

_SHARES = tuple(part / 20 for part in range(1, 20))
"""Proportions of a blend that are tried: 5 % to 95 %."""


def remedies(
    limit: Limit,
    *,
    kit: BoundKit,
    lots: Mapping[str, BoundLot],
    candidates: Mapping[str, Sequence[BoundLot]],
    kits: int,
    substitutes: Mapping[str, Sequence[ApprovedSubstitute]] | None = None,
) -> tuple[Remedy, ...]:
    """Return what would lift a limit: other lots first, then blends, then substitutes.

    The limited addition's own item is tried first, then those of the other additions: where
    aroma is too bitter for anything to be left, it is the aroma that must change.

    Parameters
    ----------
    limit: one limit of the kit from ``lots``.
    kit: the kit and its rounding.
    lots: the lot by item that the limit was met with.
    candidates: lots by item that may be used, in the order they should be (first expired first).
    kits: kits that are to be packed; a remedy of which a lot holds fewer is left out.
    substitutes: approved substitutes by line.
    """
    trial = _Trial(limit, kit, lots, kits)
    others = trial.another_lots(candidates)
    blends = trial.blends(candidates)
    stand_ins = trial.substitutes(candidates, substitutes or {})
    return (*islice(others, OFFERED), *islice(blends, OFFERED), *islice(stand_ins, OFFERED))


class _Trial:
    """One limited kit, tried with other lots."""

    def __init__(
        self, limit: Limit, kit: BoundKit, lots: Mapping[str, BoundLot], kits: int
    ) -> None:
        self._line = limit.line
        self._kit = kit
        self._lots = lots
        self._kits = kits
        self._others = {each.line for each in balanced(kit, lots).limits} - {limit.line}
        self._lines = sorted(kit.hop_lines, key=lambda line: line.line != limit.line)
        self._items = tuple(dict.fromkeys(line.item for line in self._lines))

    def another_lots(self, candidates: Mapping[str, Sequence[BoundLot]]) -> Iterator[AnotherLot]:
        for item in self._items:
            for lot in self._fresh(item, candidates):
                found = self._lifted(self._kit, {**self._lots, item: lot})
                if found:
                    poured = self._poured(self._kit, found, item, lot)
                    yield AnotherLot(
                        line=self._line, item=item, kits=self._kits, poured=poured, balance=found
                    )

    def substitutes(
        self,
        candidates: Mapping[str, Sequence[BoundLot]],
        substitutes: Mapping[str, Sequence[ApprovedSubstitute]],
    ) -> Iterator[SubstituteLot]:
        for line in self._lines:
            for substitute in substitutes.get(line.line, ()):
                kit = self._with(substitute, line)
                for lot in self._for_substitute(substitute, line, candidates):
                    found = self._lifted(kit, {**self._lots, substitute.item: lot})
                    if found:
                        yield SubstituteLot(
                            line=self._line,
                            item=substitute.item,
                            kits=self._kits,
                            substitute=substitute,
                            replaced=line.name,
                            poured=self._poured(kit, found, substitute.item, lot),
                            balance=found,
                        )

    def blends(self, candidates: Mapping[str, Sequence[BoundLot]]) -> Iterator[LotBlend]:
        for item in self._items:
            own = [self._lots[item]] if item in self._lots else []
            pool = [*own, *islice(self._fresh(item, candidates), _PAIRED - len(own))]
            for lots in combinations(pool, 2):
                blends = (self._blend(item, lots, share) for share in _SHARES)
                best = min(filter(None, blends), key=self._distance, default=None)
                if best:
                    yield best

    def _fresh(self, item: str, candidates: Mapping[str, Sequence[BoundLot]]) -> Iterator[BoundLot]:
        """Yield the candidates of an item other than the lot it has."""
        own = self._lots.get(item)
        for lot in candidates.get(item, ()):
            if lot.alpha and (own is None or lot.lot != own.lot):
                yield lot

    def _for_substitute(
        self,
        substitute: ApprovedSubstitute,
        line: HopLine,
        candidates: Mapping[str, Sequence[BoundLot]],
    ) -> Iterator[BoundLot]:
        """Yield its lots; where other lines are weighed from the item already, the lot of those."""
        shared = any(
            other.item == substitute.item and other.line != line.line
            for other in self._kit.hop_lines
        )
        if shared and substitute.item in self._lots:
            yield self._lots[substitute.item]
        else:
            yield from (lot for lot in candidates.get(substitute.item, ()) if lot.alpha)

    def _with(self, substitute: ApprovedSubstitute, line: HopLine) -> BoundKit:
        lines = [
            substitute.in_place_of(each) if each.line == line.line else each
            for each in self._kit.hop_lines
        ]
        return replace(self._kit, hop_lines=lines)

    def _lifted(self, kit: BoundKit, lots: Mapping[str, BoundLot]) -> Balance | None:
        """Return the balance from these lots if the limit is gone and they hold the kits."""
        found = balanced(kit, lots)
        if not {limit.line for limit in found.limits} <= self._others:
            return None
        enough = all(
            self._poured(kit, found, item, lot).needed <= lot.available
            for item, lot in lots.items()
        )
        return found if enough else None

    def _poured(self, kit: BoundKit, found: Balance, item: str, lot: BoundLot) -> Poured:
        weights = found.weights
        per_kit = {line.line: weights[line.line] for line in kit.hop_lines if line.item == item}
        return self._pouring(item, lot, per_kit)

    def _pouring(self, item: str, lot: BoundLot, per_kit: Mapping[str, int]) -> Poured:
        extra = self._kit.overage.get(item, 0.0)
        needed = sum(quantity_needed(self._kits, each, extra) for each in per_kit.values())
        return Poured(lot=lot, per_kit=per_kit, needed=needed)

    def _blend(self, item: str, lots: tuple[BoundLot, BoundLot], share: float) -> LotBlend | None:
        blend = blended(lots, share)
        found = self._lifted(self._kit, {**self._lots, item: blend})
        if found is None:
            return None
        lines = {line.line for line in self._kit.hop_lines if line.item == item}
        weights = split(self._kit, found, lines, lots, share)
        first, second = (
            self._pouring(item, lot, {line: pair[at] for line, pair in weights.items()})
            for at, lot in enumerate(lots)
        )
        if not all(0 < each.needed <= each.lot.available for each in (first, second)):
            return None
        return LotBlend(
            line=self._line,
            item=item,
            kits=self._kits,
            shares=(share, 1 - share),
            alpha=blend.alpha or 0.0,
            poured=(first, second),
            balance=found,
            ibu_corrected=sum(
                poured_ibu(row, weights[row.line], lots) if row.line in lines else row.ibu_after
                for row in found.rows
            ),
        )

    def _distance(self, blend: LotBlend) -> tuple[int, int]:
        """Return how far a blend's weights are from the recipe's own, then its minutes."""
        lines = {line.line: line for line in self._kit.hop_lines}
        rows = blend.balance.rows
        return (
            sum(abs(row.after_mg - lines[row.line].reference_mg) for row in rows),
            sum(
                abs(row.minutes_after - (lines[row.line].minutes or 0))
                for row in rows
                if row.minutes_after is not None
            ),
        )
