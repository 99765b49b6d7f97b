"""What one kit takes from a given set of hop and yeast lots."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from planning.engine.balance import Balance, HopLine, balance
from planning.engine.lots import LotSupply
from planning.engine.usage import kits_held, quantity_needed


@dataclass(frozen=True, kw_only=True)
class BoundLot(LotSupply):
    """A lot that fixes the batch it goes into.

    Attributes
    ----------
    alpha, alpha_spread: of a hop lot, its alpha share on brew day and that share's spread.
    form_factor, alpha_method: of a hop lot, as for :class:`HopLine`.
    per_kit: of any other lot, what a kit takes from it if not the usual quantity (more packs
        of an older yeast).
    """

    alpha: float | None = None
    alpha_spread: float = 0.03
    per_kit: int | None = None
    form_factor: float = 1.0
    alpha_method: str = ""

    @property
    def effective_alpha(self) -> float:
        """The alpha share that counts, by what the lot's form gives; zero where none is known."""
        return (self.alpha or 0.0) * self.form_factor


@dataclass(frozen=True, kw_only=True)
class BoundKit:
    """The part of a kit that is bound to particular lots.

    Attributes
    ----------
    hop_lines: its hop additions with their ``item``; their alpha is the planning alpha, used
        where an item has no lot.
    bound_items: other items whose lot may not change inside a batch, and the whole units of
        stock that a kit takes.
    overage: share by item.
    target_ibu, resolution_mg, current_mg, current_minutes, most, division_mg: as for
        :func:`balance`.
    """

    target_ibu: float
    hop_lines: Sequence[HopLine]
    bound_items: Mapping[str, int]
    resolution_mg: int
    overage: Mapping[str, float] = field(default_factory=dict)
    current_mg: Mapping[str, int] | None = None
    current_minutes: Mapping[str, int] | None = None
    most: float = 2.0
    division_mg: int = 100

    @property
    def items(self) -> tuple[str, ...]:
        """Every bound item once."""
        return tuple(dict.fromkeys((*self.bound_items, *(line.item for line in self.hop_lines))))

    @property
    def moves_in_time(self) -> bool:
        """Whether the boil minutes of an addition follow its lot."""
        return any(line.moves_in_time for line in self.hop_lines)


@dataclass(frozen=True, kw_only=True)
class KitSheet:
    """One kit from one set of lots: its balance, and what it takes by item and line."""

    balance: Balance
    per_kit: Mapping[str, Mapping[str, int]]
    overage: Mapping[str, float]

    def kits_from(self, item: str, available: int, kits: int) -> int:
        """Return how many of these kits that much of the item's lot holds."""
        held = kits_held(available, tuple(self.per_kit[item].values()), self._extra(item))
        return kits if held is None else min(held, kits)

    def needed(self, item: str, kits: int) -> int:
        """Return what these kits take from the item's lot, each line rounded up."""
        extra = self._extra(item)
        return sum(quantity_needed(kits, each, extra) for each in self.per_kit[item].values())

    def _extra(self, item: str) -> float:
        return self.overage.get(item, 0.0)


class KitSheets:
    """The kit from any set of lots, each set balanced once."""

    def __init__(self, kit: BoundKit) -> None:
        self._kit = kit
        self._known: dict[tuple[int | None, ...], KitSheet] = {}

    def of(self, lots: Mapping[str, BoundLot]) -> KitSheet:
        """Return the kit from these lots, by item; an item without one is at its planning alpha."""
        key = tuple(lots[item].lot if item in lots else None for item in self._kit.items)
        if key not in self._known:
            self._known[key] = self._balanced(lots)
        return self._known[key]

    def _balanced(self, lots: Mapping[str, BoundLot]) -> KitSheet:
        kit = self._kit
        result = balanced(kit, lots)
        per_kit: dict[str, dict[str, int]] = {}
        for line in kit.hop_lines:
            per_kit.setdefault(line.item, {})[line.line] = result.weights[line.line]
        for item, usual in kit.bound_items.items():
            lot = lots.get(item)
            own = lot.per_kit if lot else None
            per_kit[item] = {item: usual if own is None else own}
        return KitSheet(balance=result, per_kit=per_kit, overage=kit.overage)


def balanced(kit: BoundKit, lots: Mapping[str, BoundLot]) -> Balance:
    """Return the balance of a kit from these lots; an item without one is at its line's alpha."""
    return balance(
        target_ibu=kit.target_ibu,
        lines=[_weighed_from(line, lots.get(line.item)) for line in kit.hop_lines],
        resolution_mg=kit.resolution_mg,
        current_mg=kit.current_mg,
        current_minutes=kit.current_minutes,
        most=kit.most,
        division_mg=kit.division_mg,
    )


def _weighed_from(line: HopLine, lot: BoundLot | None) -> HopLine:
    if lot is None:
        return line
    if lot.alpha is None:
        msg = f"lot {lot.code} has no alpha acid, so {line.name} cannot be weighed from it"
        raise ValueError(msg)
    return replace(
        line,
        alpha=lot.alpha,
        alpha_spread=lot.alpha_spread,
        lot=lot.code,
        form_factor=lot.form_factor,
        alpha_method=lot.alpha_method,
    )
