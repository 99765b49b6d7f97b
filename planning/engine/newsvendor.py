"""How many to make when there is one chance only, as in the last run of a kit.

One kit too few loses its margin, one too many loses what it cost. The quantity that pays best is
enough with a chance of short / (short + over).

>>> critical_ratio(short=0.7, over=0.18).value
79.5455
>>> normal_stock(mean=50, spread=8, short=0.7, over=0.18).value
56.6039
>>> discrete_stock({10: 0.5, 11: 0.3, 12: 0.2}, short=3, over=1).value
11
>>> last_run(forecast=40, spread_share=0.3, margin=120_000, cost=180_000).kits
37
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import accumulate
from math import ceil, fsum
from statistics import NormalDist

from boxwort.working import Term, Working, not_negative, positive

_SOURCE = "Arrow, Harris and Marschak, Optimal inventory policy (1951)"
_NEAR = 1e-9
_MONEY = 10_000


@dataclass(frozen=True, kw_only=True)
class LastRun:
    """Whole kits to have for the rest of a kit's sale."""

    kits: int
    working: Working


def critical_ratio(*, short: float, over: float, currency: str = "money") -> Working:
    """Return the chance of having enough that pays best, in percent.

    Parameters
    ----------
    short: what one too few loses; ``over``: what one too many loses; both in ``currency``.
    """
    return Working(
        name="Chance of enough that pays best",
        formula="100 * short / (short + over)",
        terms=(
            Term(name="short", value=positive("what is lost by one too few", short), unit=currency),
            Term(name="over", value=positive("what is lost by one too many", over), unit=currency),
        ),
        value=100 * short / (short + over),
        unit="%",
        source=_SOURCE,
    )


def normal_stock(
    *,
    mean: float,
    spread: float,
    short: float,
    over: float,
    unit: str = "units",
    currency: str = "money",
) -> Working:
    """Return the quantity that pays best for a demand that is normal.

    Parameters
    ----------
    mean, spread: of the demand in ``unit``; the spread is one standard deviation.
    short, over: what one too few and one too many lose.
    """
    ratio = critical_ratio(short=short, over=over, currency=currency)
    quantile = NormalDist().inv_cdf(short / (short + over))
    return Working(
        name="Quantity that pays best",
        formula="mean + z * spread",
        terms=(
            Term(name="mean", value=not_negative("the mean demand", mean), unit=unit),
            Term(name="z", value=quantile, unit="standard deviations"),
            Term(name="spread", value=not_negative("the spread of demand", spread), unit=unit),
        ),
        value=mean + quantile * spread,
        unit=unit,
        source=_SOURCE,
        notes=("A normal demand stays below z with the chance that pays best.",),
        parts=(ratio,),
    )


def discrete_stock(
    chances: Mapping[int, float],
    *,
    short: float,
    over: float,
    unit: str = "units",
    currency: str = "money",
) -> Working:
    """Return the whole quantity that pays best where the chance of each demand is known.

    Parameters
    ----------
    chances: of each demand, as shares that come to 1.
    short, over: what one too few and one too many lose.

    Raises
    ------
    ValueError: the chances do not come to 1.
    """
    if any(chance < 0 for chance in chances.values()) or abs(fsum(chances.values()) - 1) > 1e-6:
        msg = "the chances of all demands come to 1, and none is below zero"
        raise ValueError(msg)
    ratio = critical_ratio(short=short, over=over, currency=currency)
    demands = sorted(chances)
    enough = dict(
        zip(demands, accumulate(100 * chances[demand] for demand in demands), strict=True)
    )
    quantity = next(
        (demand for demand in demands if enough[demand] >= ratio.value - _NEAR), demands[-1]
    )
    return Working(
        name="Quantity that pays best",
        formula="the least quantity that is enough with the chance that pays best",
        terms=(
            Term(name="chance that it is enough", value=enough[quantity], unit="%"),
            Term(
                name="chance that one demand less is enough",
                value=enough[quantity] - 100 * chances[quantity],
                unit="%",
            ),
        ),
        value=quantity,
        unit=unit,
        source=_SOURCE,
        parts=(ratio,),
    )


def last_run(
    *, forecast: int, spread_share: float, margin: int, cost: int, currency: str = "money"
) -> LastRun:
    """Return the whole kits to have for all that will still be sold of a kit that ends.

    Parameters
    ----------
    forecast: kits that are expected to be sold until the end.
    spread_share: one standard deviation of the forecast, as a share of it.
    margin, cost: ten-thousandths of ``currency``: what a missing kit would have earned, and what
        a kit that is left over has cost. Both are above zero.
    """
    exact = normal_stock(
        mean=forecast,
        spread=spread_share * forecast,
        short=margin / _MONEY,
        over=cost / _MONEY,
        unit="kits",
        currency=currency,
    )
    kits = max(0, ceil(exact.value - _NEAR))
    # one kit at least, once anything is expected
    return LastRun(
        kits=max(kits, 1) if forecast else 0,
        working=Working(
            name="Last run",
            formula=f"{exact.formula}, rounded up" if forecast else exact.formula,
            terms=exact.terms,
            value=max(kits, 1) if forecast else 0,
            unit=exact.unit,
            source=exact.source,
            notes=exact.notes,
            parts=exact.parts,
        ),
    )
