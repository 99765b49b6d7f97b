"""What a kit costs and what it earns, from its parts and what each was bought for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from boxwort.working import Term, Working

MONEY = 10_000
"""Ten-thousandths in one unit of money."""


@dataclass(frozen=True, kw_only=True)
class CostedPart:
    """A part of one kit.

    Attributes
    ----------
    packed: whole units of stock in the box, ``in_unit`` of them in one ``unit`` that people read;
        ``overage`` the share that is lost beside it.
    cost: ``(ten-thousandths, for so many units)``; None: nothing says what it costs.
    at_dispatch: whether it is added when the kit is sent.
    """

    name: str
    packed: int
    unit: str = "g"
    in_unit: int = 1000
    overage: float = 0.0
    cost: tuple[int, int] | None = None
    at_dispatch: bool = False

    @property
    def exact(self) -> Fraction:
        """Its cost in ten-thousandths, unrounded; 0 where nothing says it."""
        if self.cost is None:
            return Fraction(0)
        amount, quantity = self.cost
        return Fraction(amount, quantity) * self.packed * (1 + Fraction(str(self.overage)))

    def working(self, currency: str) -> Working:
        """Return its cost in money."""
        amount, quantity = self.cost or (0, self.in_unit)
        return Working(
            name=self.name,
            formula="amount * (1 + overage / 100) * paid / bought",
            terms=(
                Term(name="amount", value=self.packed / self.in_unit, unit=self.unit),
                Term(name="overage", value=self.overage * 100, unit="%"),
                Term(name="paid", value=amount / MONEY, unit=currency),
                Term(name="bought", value=quantity / self.in_unit, unit=self.unit),
            ),
            value=float(self.exact / MONEY),
            unit=currency,
            source="common practice",
            notes=("Added at dispatch.",) if self.at_dispatch else (),
        )


def cost_of(parts: Sequence[CostedPart], *, at_dispatch: bool | None = None) -> Fraction:
    """Return what parts cost in ten-thousandths: all of them, or those added when or before.

    >>> malt = CostedPart(name="Malt", packed=4_000_000, overage=0.01, cost=(400_000, 25_000_000))
    >>> cost_of([malt])
    Fraction(64640, 1)
    """
    chosen = (part for part in parts if at_dispatch in (None, part.at_dispatch))
    return sum((part.exact for part in chosen), Fraction(0))


def kit_cost(parts: Sequence[CostedPart], *, currency: str) -> Working:
    """Return the cost of one kit in money, part by part."""
    unpriced = [part.name for part in parts if part.cost is None]
    notes = ["Each part is at what its newest lot was landed for, or else at its offer's price."]
    if unpriced:
        notes.append(f"Nothing says what these cost, so they are left out: {', '.join(unpriced)}.")
    return Working(
        name="Cost of a kit",
        formula="sum of parts",
        terms=(),
        value=float(cost_of(parts) / MONEY),
        unit=currency,
        source="common practice",
        notes=tuple(notes),
        parts=tuple(part.working(currency) for part in parts if part.cost is not None),
    )


def margin(price: int, cost: Fraction, *, currency: str) -> Working:
    """Return what a kit earns in money: its price less its cost, both in ten-thousandths.

    >>> margin(400_000, Fraction(300_000), currency="EUR").value
    10.0
    """
    return Working(
        name="Margin of a kit",
        formula="price - cost",
        terms=(
            Term(name="price", value=price / MONEY, unit=currency),
            Term(name="cost", value=float(cost / MONEY), unit=currency),
        ),
        value=float(Fraction(price) - cost) / MONEY,
        unit=currency,
        source="common practice",
    )


def margin_share(price: int, cost: Fraction) -> float | None:
    """Return the share of the price that is earned; None without a price.

    >>> margin_share(400_000, Fraction(300_000))
    0.25
    """
    return float((price - cost) / price) if price else None
