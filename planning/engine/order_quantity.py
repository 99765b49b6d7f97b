"""The order that is cheapest where demand is steady: what to order at a time, year in, year out.

>>> found = economic_order_quantity(demand=1_300, order_cost=8, keeping=0.225)
>>> found.value
304.047
>>> offered = [(0, 53.0), (50, 51.5), (100, 49.5), (200, 48.0), (500, 47.0)]
>>> best = discounted_order_quantity(
...     demand=800, order_cost=60, holding_share=0.3, breaks=offered
... )
>>> best.quantity, best.price, best.cost
(200, 48.0, 40080.0)
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf, sqrt

from boxwort.working import Term, Working, not_negative, positive

_HARRIS = "F. W. Harris, How many parts to make at once (1913)"


@dataclass(frozen=True, kw_only=True)
class OrderQuantity:
    """An order quantity, the price that it is bought at, and what a year costs with it."""

    quantity: float
    price: float
    cost: float
    working: Working


def economic_order_quantity(
    *,
    demand: float,
    order_cost: float,
    keeping: float,
    unit: str = "units",
    currency: str = "money",
) -> Working:
    """Return the quantity at which placing orders and keeping stock cost the least together.

    Parameters
    ----------
    demand: what a year takes, in ``unit``.
    order_cost: for placing one order; ``keeping``: one unit for a year; both in ``currency``.
    """
    return Working(
        name="Economic order quantity",
        formula="(2 * cost of an order * demand / cost of keeping one) ^ 0.5",
        terms=(
            Term(name="demand", value=positive("demand", demand), unit=f"{unit} a year"),
            Term(
                name="cost of an order",
                value=positive("the cost of an order", order_cost),
                unit=currency,
            ),
            Term(
                name="cost of keeping one",
                value=positive("the cost of keeping", keeping),
                unit=f"{currency} a year",
            ),
        ),
        value=sqrt(2 * order_cost * demand / keeping),
        unit=unit,
        source=_HARRIS,
    )


def discounted_order_quantity(
    *,
    demand: float,
    order_cost: float,
    holding_share: float,
    breaks: Sequence[tuple[float, float]],
    unit: str = "units",
    currency: str = "money",
) -> OrderQuantity:
    """Return the cheapest quantity where a larger order has a lower price for all of it.

    Parameters
    ----------
    demand: what a year takes, in ``unit``; ``order_cost``: for placing one order.
    holding_share: what keeping stock for a year costs, as a share of its price.
    breaks: ``(from this quantity, price of one)``.
    """
    costs = [
        (
            _year(demand, order_cost, holding_share, quantity, price, unit, currency),
            quantity,
            price,
        )
        for quantity, price in _candidates(demand, order_cost, holding_share, breaks)
    ]
    cost, quantity, price = min(costs, key=lambda each: (each[0].value, each[1]))
    return OrderQuantity(
        quantity=quantity,
        price=price,
        cost=cost.value,
        working=Working(
            name="Cost of a year at the cheapest order quantity",
            formula="least of parts",
            terms=(Term(name="order quantity", value=quantity, unit=unit),),
            value=cost.value,
            unit=currency,
            source="common practice",
            notes=("At each price, its own economic quantity or the least that has this price.",),
            parts=tuple(each for each, _, _ in costs),
        ),
    )


def _candidates(
    demand: float, order_cost: float, holding_share: float, breaks: Sequence[tuple[float, float]]
) -> Iterator[tuple[float, float]]:
    """Yield at each price the cheapest quantity that has this price, where there is one."""
    steps = sorted(breaks)
    for (least, price), (beyond, _) in pairwise([*steps, (inf, 0.0)]):
        economic = economic_order_quantity(
            demand=demand,
            order_cost=order_cost,
            keeping=positive("the share for keeping", holding_share) * positive("a price", price),
        ).value
        quantity = max(economic, not_negative("the quantity of a break", least))
        if quantity < beyond:
            yield quantity, price


def _year(
    demand: float,
    order_cost: float,
    holding_share: float,
    quantity: float,
    price: float,
    unit: str,
    currency: str,
) -> Working:
    bought, placed, kept = (
        demand * price,
        order_cost * demand / quantity,
        holding_share * price * quantity / 2,
    )
    return Working(
        name="Cost of a year",
        formula=(
            "demand * price + cost of an order * demand / quantity + "
            "keeping / 100 * price * quantity / 2"
        ),
        terms=(
            Term(name="demand", value=demand, unit=f"{unit} a year"),
            Term(name="price", value=price, unit=currency),
            Term(name="cost of an order", value=order_cost, unit=currency),
            Term(name="quantity", value=quantity, unit=unit),
            Term(name="keeping", value=holding_share * 100, unit="% a year"),
        ),
        value=bought + placed + kept,
        unit=currency,
        source=_HARRIS,
    )
