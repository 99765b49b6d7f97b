"""How an item is ordered: the rule of the house, and what the supplier and the shelf allow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from planning.engine.packs import Packs

IntArray = NDArray[np.int64]
FloatArray = NDArray[np.float64]

LOT_FOR_LOT = "lot_for_lot"
FIXED = "fixed"
PERIOD = "period"
MINIMUM = "minimum"
LEAST_COST = "least_cost"
KINDS = (LOT_FOR_LOT, FIXED, PERIOD, MINIMUM, LEAST_COST)
"""As inventory names the lot rules of its items."""

NEVER = 1 << 60
"""A number of buckets or packs that is never reached."""


@dataclass(frozen=True, kw_only=True)
class LotSizing(Packs):
    """The rule by which one item is ordered, with the packs that its supplier sells.

    Attributes
    ----------
    kind: one of ``KINDS``.
    quantity: whole units: of each fixed order, or the house's own minimum of ``minimum``.
    period: buckets that one order covers; None: as long as it keeps.
    order_cost: ten-thousandths for placing one order.
    holding: ten-thousandths for keeping one unit of stock from one bucket to the next.
    keeps: buckets after its own that a fresh receipt still serves; None: longer than anybody looks.
    """

    kind: str = LOT_FOR_LOT
    quantity: int = 0
    period: int | None = None
    order_cost: int = 0
    holding: float = 0.0
    keeps: int | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.kind not in KINDS:
            msg = f"no lot rule is called {self.kind}"
            raise ValueError(msg)
        if self.kind == FIXED and self.quantity < 1:
            msg = "a fixed order is of at least one unit of stock"
            raise ValueError(msg)
        if self.period is not None and self.period < 1:
            msg = "an order covers at least the bucket it is for"
            raise ValueError(msg)
        if min(self.order_cost, self.holding, self.keeps or 0, self.quantity) < 0:
            msg = "costs, quantities and the buckets that stock keeps cannot be less than zero"
            raise ValueError(msg)

    def lasts(self, buckets: int) -> int:
        """Return how many buckets a receipt serves: more than there are if it keeps longer."""
        return buckets + 1 if self.keeps is None else self.keeps + 1

    def spans(self, buckets: int) -> int:
        """Return how many buckets one order is meant to cover."""
        if self.kind != PERIOD:
            return 1
        return min(self.period or buckets, self.lasts(buckets))

    @property
    def one_price(self) -> bool:
        """Whether any number of packs may be bought, each at the same price."""
        return len(self.breaks) == 1 and self.fewest_packs == 1


@dataclass(frozen=True, kw_only=True, eq=False)
class LotSizings:
    """The rules of many items as arrays, one entry an item.

    ``fixed`` is the packs of a fixed order, else 1; ``least`` those of the house's own minimum,
    else 0. ``steps`` and ``prices`` are the breaks in order, [items, breaks], filled up with
    breaks that nobody reaches.
    """

    rules: tuple[LotSizing, ...]
    kind: IntArray
    period: IntArray
    pack: IntArray
    fewest: IntArray
    fixed: IntArray
    least: IntArray
    keeps: IntArray
    order_cost: IntArray
    holding: FloatArray
    steps: IntArray
    prices: IntArray

    def at(self, chosen: IntArray) -> LotSizings:
        """Return the rules of some of the items, by their places."""
        return LotSizings(
            rules=tuple(self.rules[place] for place in chosen),
            **{name: getattr(self, name)[chosen] for name in _COLUMNS},
        )

    @classmethod
    def of(cls, rules: Sequence[LotSizing]) -> LotSizings:
        """Return the arrays of some rules."""
        numbers = np.array([_numbers(rule) for rule in rules], dtype=np.int64).reshape(-1, 8)
        width = max((len(rule.breaks) for rule in rules), default=1)
        breaks = np.array(
            [[*sorted(rule.breaks), *[(NEVER, 0)] * (width - len(rule.breaks))] for rule in rules],
            dtype=np.int64,
        ).reshape(-1, width, 2)
        kind, period, pack, fewest, fixed, least, keeps, order_cost = numbers.T.copy()
        return cls(
            rules=tuple(rules),
            kind=kind,
            period=period,
            pack=pack,
            fewest=fewest,
            fixed=fixed,
            least=least,
            keeps=keeps,
            order_cost=order_cost,
            holding=np.array([rule.holding for rule in rules], dtype=float),
            steps=breaks[..., 0],
            prices=breaks[..., 1],
        )


_COLUMNS = tuple(each.name for each in fields(LotSizings) if each.name != "rules")


def _numbers(rule: LotSizing) -> tuple[int, ...]:
    keeps = NEVER if rule.keeps is None else rule.keeps
    period = min(rule.period or NEVER, keeps + 1) if rule.kind == PERIOD else 1
    return (
        KINDS.index(rule.kind),
        period,
        rule.pack_quantity,
        rule.fewest_packs,
        rule.whole(rule.quantity) if rule.kind == FIXED else 1,
        rule.whole(rule.quantity) if rule.kind == MINIMUM else 0,
        keeps,
        rule.order_cost,
    )
