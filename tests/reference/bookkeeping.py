"""One item netted as the textbooks print it: a row for each period, through the house's engine."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from planning.engine.phased import Demands, phased
from planning.engine.sizing import LotSizing, sized
from planning.engine.supplies import Supplies


@dataclass(frozen=True, kw_only=True)
class Netted:
    """Net requirements, and what is on hand at the end of each period if exactly those arrive."""

    net: list[int]
    projected: list[int]

    def receipts(self, rule: LotSizing) -> list[int]:
        """Return what arrives in each period by a lot rule."""
        arriving = [0] * len(self.net)
        for order in sized(self.net, rule):
            arriving[order.bucket] = order.quantity
        return arriving

    def on_hand(self, rule: LotSizing) -> list[int]:
        """Return what is on hand at the end of each period by a lot rule."""
        extra = np.cumsum(np.array(self.receipts(rule)) - np.array(self.net))
        return (np.array(self.projected) + extra).tolist()

    def releases(self, rule: LotSizing, lead: int) -> list[int]:
        """Return what is begun in each period to arrive in time; nothing may be late."""
        arriving = self.receipts(rule)
        assert not any(arriving[:lead]), "an order should have gone before the first period"
        return [*arriving[lead:], *[0] * lead]


def netted(gross: list[int], scheduled: list[int], *, on_hand: int = 0) -> Netted:
    """Return the netting of one item that does not expire."""
    periods = len(gross)
    arriving = [(at, quantity) for at, quantity in enumerate(scheduled) if quantity]
    first = np.array([0, *(at for at, _ in arriving)])
    found = phased(
        Demands(item=np.array([0]), weight=np.array([gross])),
        Supplies(
            item=np.zeros(len(first), dtype=np.int64),
            quantity=np.array([on_hand, *(quantity for _, quantity in arriving)]),
            first=first,
            last=np.full(len(first), periods),
        ),
        items=1,
    )
    return Netted(net=found.net[0].tolist(), projected=found.projected[0].tolist())


def by_period(quantities: list[int]) -> dict[int, int]:
    """Return quantities that are not zero, by period counted from 1 as the books do."""
    return {at: quantity for at, quantity in enumerate(quantities, start=1) if quantity}
