"""What lifts a limit of a balance, in figures and in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TypeAlias

from boxwort.figures import share as percent
from boxwort.quantities import shown
from planning.engine.balance import Balance
from planning.engine.hop_line import HopLine
from planning.engine.kit_sheet import BoundLot


@dataclass(frozen=True, kw_only=True)
class ApprovedSubstitute:
    """A hop approved to stand for an addition.

    Attributes
    ----------
    item, name: what is weighed, and what people call the addition then ("Nugget at 60 min").
    ratio: its weight for one of the line's, as approved.
    reference_mg, reference_alpha, ibu_per_gram, minutes_table: as frozen for it, see
        :class:`~planning.engine.hop_line.HopLine`.
    """

    item: str
    name: str
    ratio: float
    reference_mg: int
    reference_alpha: float
    ibu_per_gram: float
    minutes_table: Mapping[int, float] = field(default_factory=dict)

    def in_place_of(self, line: HopLine) -> HopLine:
        """Return the addition with this hop in it; what it does in balancing stays."""
        return replace(
            line,
            item=self.item,
            name=self.name,
            reference_mg=self.reference_mg,
            reference_alpha=self.reference_alpha,
            ibu_per_gram=self.ibu_per_gram,
            minutes_table=self.minutes_table,
            alpha=self.reference_alpha,
        )


@dataclass(frozen=True, kw_only=True)
class Poured:
    """What a remedy takes of one lot: milligrams per kit by line, and for all kits with overage."""

    lot: BoundLot
    per_kit: Mapping[str, int]
    needed: int


@dataclass(frozen=True, kw_only=True)
class AnotherLot:
    """The additions of one item weighed from another lot.

    Attributes
    ----------
    line: the line of the limit that is lifted.
    item: the item that changes lot; it may be another than that of the line.
    kits: the kits that the lot holds.
    balance: the kit from the lots so changed.
    """

    line: str
    item: str
    kits: int
    poured: Poured
    balance: Balance

    @property
    def ibu_corrected(self) -> float:
        """Bitterness of the kit."""
        return self.balance.ibu_corrected

    @property
    def sentence(self) -> str:
        """What to do, what it takes, and what the kit comes to."""
        return (
            f"Weigh lot {_lot(self.poured.lot)}: {_weights(self.balance, [self.poured])} a kit"
            f"{_also(self)}. {_taken(self.kits, [self.poured])}; a kit comes to "
            f"{self.ibu_corrected:.1f} IBU."
        )


@dataclass(frozen=True, kw_only=True)
class LotBlend:
    """The additions of one item weighed from two lots in proportion.

    ``shares`` are the proportions of ``poured``, ``alpha`` is that of the blend. ``balance`` is the
    kit from the blend; ``ibu_corrected`` counts the weights of either lot as they are on the
    resolution. For the rest see :class:`AnotherLot`.
    """

    line: str
    item: str
    kits: int
    shares: tuple[float, float]
    alpha: float
    poured: tuple[Poured, Poured]
    balance: Balance
    ibu_corrected: float

    @property
    def sentence(self) -> str:
        """What to do, what it takes, and what the kit comes to."""
        first, second = self.poured
        parts = " to ".join(percent(share, 0) for share in self.shares)
        return (
            f"Blend lots {_lot(first.lot)} and {_lot(second.lot)}, {parts}, to "
            f"{percent(self.alpha)}: {_weights(self.balance, self.poured)} a kit{_also(self)}. "
            f"{_taken(self.kits, self.poured)}; a kit comes to {self.ibu_corrected:.1f} IBU."
        )


@dataclass(frozen=True, kw_only=True)
class SubstituteLot:
    """An approved substitute in place of one addition, weighed from a lot of it.

    ``replaced`` is the name of the addition that it stands for. For the rest see
    :class:`AnotherLot`.
    """

    line: str
    item: str
    kits: int
    substitute: ApprovedSubstitute
    replaced: str
    poured: Poured
    balance: Balance

    @property
    def ibu_corrected(self) -> float:
        """Bitterness of the kit."""
        return self.balance.ibu_corrected

    @property
    def sentence(self) -> str:
        """What to do, what it takes, and what the kit comes to."""
        return (
            f"Use the approved substitute for {self.replaced} ({self.substitute.ratio:g} to 1) "
            f"from lot {_lot(self.poured.lot)}: {_weights(self.balance, [self.poured])} a kit"
            f"{_also(self)}. {_taken(self.kits, [self.poured])}; a kit comes to "
            f"{self.ibu_corrected:.1f} IBU."
        )


Remedy: TypeAlias = AnotherLot | LotBlend | SubstituteLot


def _lot(lot: BoundLot) -> str:
    return f"{lot.code} at {percent(lot.alpha or 0.0)} alpha acid"


def _weights(balance: Balance, poured: Sequence[Poured]) -> str:
    """Say what a kit takes from each lot, addition by addition."""
    told = []
    for row in balance.rows:
        if row.line in poured[0].per_kit:
            each = " and ".join(shown(lot.per_kit[row.line], "g") for lot in poured)
            boiled = "" if row.minutes_after is None else f", boiled {row.minutes_after} min,"
            told.append(f"{row.name} {each}{boiled}")
    return "; ".join(told)


def _also(remedy: Remedy) -> str:
    """Say what becomes of the limited addition where the remedy is at another one."""
    poured = remedy.poured[0] if isinstance(remedy, LotBlend) else remedy.poured
    if remedy.line in poured.per_kit:
        return ""
    row = next(row for row in remedy.balance.rows if row.line == remedy.line)
    boiled = "" if row.minutes_after is None else f", boiled {row.minutes_after} min"
    return f"; {row.name} is then {shown(row.after_mg, 'g')}{boiled}"


def _taken(kits: int, poured: Sequence[Poured]) -> str:
    """Say what all kits take of each lot and what it holds."""
    each = " and ".join(
        f"{shown(lot.needed, 'g')} of the {shown(lot.lot.available, 'g')} available"
        for lot in poured
    )
    return f"1 kit takes {each}" if kits == 1 else f"{kits} kits take {each}"
