"""How long stock lasts, which items matter most, and what of it will be lost.

Weeks of cover walk the demand that is known; beyond it the mean of the known weeks goes on. Classes
go by the value that is used: the items that make the first 80 % of it are A, to 95 % B, the rest C
(common practice).

>>> weeks_of_cover(100, [30, 40, 60])
2.5
>>> weeks_of_cover(100, [10, 10])
10.0
>>> value_classes({"malt": 700, "hop": 200, "clip": 60, "tape": 40})
{'malt': 'A', 'hop': 'A', 'clip': 'B', 'tape': 'C'}
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from math import inf

A_SHARE, B_SHARE = Fraction(80, 100), Fraction(95, 100)


def weeks_of_cover(on_hand: int, demand: Sequence[int]) -> float:
    """Return how many weeks stock lasts; ``inf`` where nothing is wanted of it.

    Parameters
    ----------
    on_hand: usable stock in whole units, at least zero.
    demand: what each coming week takes, this week first, in whole units.

    Raises
    ------
    ValueError: stock or a demand below zero.
    """
    if on_hand < 0 or any(week < 0 for week in demand):
        msg = "stock and demand cannot be less than zero"
        raise ValueError(msg)
    left = on_hand
    for week, wanted in enumerate(demand):
        if wanted > left:
            return week + left / wanted
        left -= wanted
    total = sum(demand)
    return len(demand) + left * len(demand) / total if total else inf


def value_classes(used: Mapping[str, int]) -> dict[str, str]:
    """Return the class of each item by the value of it that is used, the dearest first.

    The item that passes a limit still belongs above it; what is not used at all is C.

    Raises
    ------
    ValueError: a value below zero.
    """
    if any(value < 0 for value in used.values()):
        msg = "the value that is used cannot be less than zero"
        raise ValueError(msg)
    total = sum(used.values())
    classes = {}
    before = 0
    for item, value in sorted(used.items(), key=lambda pair: (-pair[1], pair[0])):
        if value and before < A_SHARE * total:
            classes[item] = "A"
        elif value and before < B_SHARE * total:
            classes[item] = "B"
        else:
            classes[item] = "C"
        before += value
    return classes


@dataclass(frozen=True, kw_only=True)
class Lasting:
    """What becomes of one lot by the plan.

    ``used`` is taken before the lot ends, ``lost`` is left on its last day; ``value_lost`` is in
    ten-thousandths. ``slow`` where nothing was taken of it for longer than the house allows, or
    the plan takes nothing.
    """

    used: int
    lost: int
    value_lost: int
    slow: bool


def lasting(
    *,
    on_hand: int,
    planned: int,
    ends_on: date | None,
    until: date,
    cost: tuple[int, int],
    last_used_on: date,
    today: date,
    slow_days: int,
) -> Lasting:
    """Return what becomes of a lot.

    Parameters
    ----------
    on_hand, planned: whole units there, and what the plan takes of them until ``until``.
    ends_on: the last day it can be used; what ends after ``until`` is not known to be lost.
    cost: ten-thousandths paid for so many units of stock.
    last_used_on: the day something was last taken of it, or else the day it came.

    >>> lasting(
    ...     on_hand=1_000, planned=400, ends_on=date(2026, 12, 20), until=date(2027, 5, 1),
    ...     cost=(80_000, 2_000), last_used_on=date(2026, 11, 1), today=date(2026, 11, 25),
    ...     slow_days=120,
    ... )
    Lasting(used=400, lost=600, value_lost=24000, slow=False)
    """
    used = min(on_hand, planned)
    lost = on_hand - used if ends_on is not None and ends_on <= until else 0
    amount, quantity = cost
    idle = (today - last_used_on).days > slow_days
    return Lasting(
        used=used,
        lost=lost,
        value_lost=round(Fraction(amount * lost, quantity)) if quantity else 0,
        slow=on_hand > 0 and (idle or planned == 0),
    )
