"""Time-phased netting in buckets, by the conventions of the planning literature.

Receipts arrive at the start of a bucket, demand is taken inside it, and projected on hand is its
end: net = max(0, gross + safety - projected before - scheduled).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import inf


@dataclass(frozen=True, kw_only=True)
class BucketLot:
    """On-hand stock that dies: ``last_bucket`` is the last one it can serve, counted from 0."""

    quantity: int
    last_bucket: int


@dataclass(frozen=True, kw_only=True)
class Bucket:
    """One bucket of a netting: ``expired`` is what died before it and serves nothing."""

    gross: int
    scheduled: int
    expired: int
    net: int
    planned_receipt: int
    projected: int


@dataclass(frozen=True, kw_only=True)
class Releases:
    """Planned orders by the bucket of their release; ``past_due`` should have gone before 0."""

    by_bucket: tuple[int, ...]
    past_due: int


def lot_for_lot(net: int) -> int:
    """Order exactly what is net."""
    return net


def netted(
    gross: Sequence[int],
    scheduled: Sequence[int],
    *,
    on_hand: int = 0,
    safety: int = 0,
    lots: Sequence[BucketLot] = (),
    lot_rule: Callable[[int], int] = lot_for_lot,
) -> tuple[Bucket, ...]:
    """Return the net requirement, planned receipt and projected stock of every bucket.

    Parameters
    ----------
    gross, scheduled: demand and open orders by bucket, of one length.
    on_hand: stock at the start that does not expire; ``lots`` is stock that does.
    safety: the stock below which projected on hand may not fall.
    lot_rule: the quantity ordered for a net requirement, at least that requirement.

    >>> rows = netted([0, 20, 0, 25, 0, 15, 12, 0], [0, 0, 30, 0, 0, 0, 0, 0], on_hand=23)
    >>> [row.net for row in rows]
    [0, 0, 0, 0, 0, 7, 12, 0]
    """
    stock = [_Held(last_bucket=lot.last_bucket, quantity=lot.quantity) for lot in lots]
    stock.sort(key=lambda held: held.last_bucket)
    lasting = _Held(last_bucket=inf, quantity=on_hand)
    stock.append(lasting)
    buckets = []
    for bucket, (demand, arriving) in enumerate(zip(gross, scheduled, strict=True)):
        expired = _expired(stock, bucket)
        lasting.quantity += arriving
        net = max(0, demand + safety - _total(stock))
        receipt = lot_rule(net) if net else 0
        lasting.quantity += receipt
        _take(stock, demand)
        buckets.append(
            Bucket(
                gross=demand,
                scheduled=arriving,
                expired=expired,
                net=net,
                planned_receipt=receipt,
                projected=_total(stock),
            )
        )
    return tuple(buckets)


def releases(buckets: Sequence[Bucket], lead_buckets: int) -> Releases:
    """Return when the planned receipts must be ordered to arrive after the lead time."""
    receipts = [bucket.planned_receipt for bucket in buckets]
    return Releases(
        by_bucket=(*receipts[lead_buckets:], *(0 for _ in receipts[:lead_buckets])),
        past_due=sum(receipts[:lead_buckets]),
    )


@dataclass(kw_only=True)
class _Held:
    last_bucket: float
    quantity: int


def _total(stock: Iterable[_Held]) -> int:
    return sum(held.quantity for held in stock)


def _expired(stock: Iterable[_Held], bucket: int) -> int:
    """Empty what died before this bucket and return how much that was."""
    dead = [held for held in stock if held.last_bucket < bucket]
    lost = _total(dead)
    for held in dead:
        held.quantity = 0
    return lost


def _take(stock: Iterable[_Held], demand: int) -> None:
    """Draw the demand in the order of the stock, first expired first."""
    for held in stock:
        taken = min(demand, held.quantity)
        held.quantity -= taken
        demand -= taken
