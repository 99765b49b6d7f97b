"""What holds of any netting: as counted lot by lot, and against the most that can flow."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import maximum_flow

from planning.engine.phased import Demands, phased
from planning.engine.supplies import Supplies, first_expired_first

BUCKETS = 5


@dataclass
class Lot:
    quantity: int
    first: int
    last: int


supply = st.builds(Lot, st.integers(0, 30), st.integers(0, 4), st.integers(-1, 6))
row = st.lists(st.integers(0, 25), min_size=BUCKETS, max_size=BUCKETS)
item = st.tuples(row, st.lists(supply, max_size=5), st.integers(0, 8))


def table(stocks: list[list[Lot]]) -> Supplies:
    rows = [(at, lot) for at, lots in enumerate(stocks) for lot in lots]
    columns = [
        np.array(column, dtype=np.int64)
        for column in (
            [at for at, _ in rows],
            [lot.quantity for _, lot in rows],
            [lot.first for _, lot in rows],
            [lot.last for _, lot in rows],
        )
    ]
    order = first_expired_first(
        columns[0], columns[3], columns[2], receipt=np.zeros(len(rows), dtype=bool)
    )
    at, quantity, first, last = (column[order] for column in columns)
    return Supplies(item=at, quantity=quantity, first=first, last=last)


def counted(gross: list[int], lots: list[Lot], safety: int) -> tuple[list[int], list[int]]:
    """Net and projected of one item, a unit of stock at a time in the mind of a storekeeper."""
    left = [Lot(lot.quantity, lot.first, lot.last) for lot in lots]
    left.sort(key=lambda lot: (lot.last, lot.first))
    bought, nets, projected = 0, [], []
    for bucket, wanted in enumerate(gross):
        here = [lot for lot in left if lot.first <= bucket <= lot.last]
        net = max(0, wanted + safety - sum(lot.quantity for lot in here) - bought)
        bought += net
        for lot in here:
            taken = min(lot.quantity, wanted)
            lot.quantity -= taken
            wanted -= taken
        bought -= wanted
        nets.append(net)
        projected.append(sum(lot.quantity for lot in here) + bought)
    return nets, projected


def netting(items):
    gross = np.array([row for row, _, _ in items], dtype=np.int64)
    supplies = table([lots for _, lots, _ in items])
    found = phased(
        Demands(item=np.arange(len(items)), weight=gross),
        supplies,
        items=len(items),
        safety=np.array([safety for *_, safety in items], dtype=np.int64),
    )
    return gross, supplies, found


@settings(max_examples=60)
@given(st.lists(item, min_size=1, max_size=4))
def test_many_items_at_once_are_netted_as_each_would_be_by_hand(items):
    _, _, found = netting(items)
    for at, (gross, lots, safety) in enumerate(items):
        nets, projected = counted(gross, lots, safety)
        assert found.net[at].tolist() == nets
        assert found.projected[at].tolist() == projected


@settings(max_examples=60)
@given(st.lists(item, min_size=1, max_size=4))
def test_no_lot_is_used_twice_before_its_receipt_or_after_its_day(items):
    _, supplies, found = netting(items)
    (taken,) = found.taken
    assert (taken >= 0).all()
    assert (taken.sum(axis=1) <= supplies.quantity).all()
    for at, used in enumerate(taken):
        days = np.flatnonzero(used)
        assert (days >= supplies.first[at]).all()
        assert (days <= supplies.last[at]).all()


@settings(max_examples=60)
@given(st.lists(item, min_size=1, max_size=4))
def test_stock_is_used_or_goes_off_or_is_left_and_nothing_is_lost(items):
    _, supplies, found = netting(items)
    (taken,) = found.taken
    for at in range(len(items)):
        mine = supplies.item == at
        left = supplies.quantity[mine] - taken[mine].sum(axis=1)
        ended = np.maximum(supplies.last[mine] + 1, supplies.first[mine]) < BUCKETS
        assert found.expired[at].sum() == left[ended].sum()


@settings(max_examples=40)
@given(row, st.lists(supply, min_size=1, max_size=5))
def test_first_expired_first_out_serves_the_most_of_any_order(gross, lots):
    _, _, found = netting([(gross, lots, 0)])
    assert sum(gross) - found.net.sum() == most_served(gross, lots)


def most_served(gross: list[int], lots: list[Lot]) -> int:
    """The most that can flow from lots to the days on which they can be used."""
    size = len(lots) + BUCKETS + 2
    flows = np.zeros((size, size), dtype=np.int32)
    for at, lot in enumerate(lots, start=1):
        flows[0, at] = lot.quantity
        for bucket in range(BUCKETS):
            if lot.first <= bucket <= lot.last:
                flows[at, len(lots) + 1 + bucket] = lot.quantity
    for bucket, wanted in enumerate(gross):
        flows[len(lots) + 1 + bucket, size - 1] = wanted
    return int(maximum_flow(csr_matrix(flows), 0, size - 1).flow_value)


@settings(max_examples=60)
@given(row, st.lists(supply, min_size=1, max_size=5))
def test_no_more_of_the_stock_on_hand_goes_off_than_must(gross, lots):
    """The least waste is the most, over all days, by which what expires passes what is wanted."""
    on_hand = [Lot(lot.quantity, 0, max(lot.last, 0)) for lot in lots]
    _, _, found = netting([(gross, on_hand, 0)])
    least = max(
        0,
        *(
            sum(lot.quantity for lot in on_hand if lot.last <= day) - sum(gross[: day + 1])
            for day in range(BUCKETS - 1)
        ),
    )
    assert found.expired.sum() == least


hops = st.tuples(
    row,
    st.lists(st.integers(0, 3), min_size=BUCKETS, max_size=BUCKETS),
    st.lists(st.tuples(supply, st.floats(0.02, 0.2)), min_size=1, max_size=4),
)


@settings(max_examples=60)
@given(hops, st.floats(0.0, 0.2))
def test_hops_give_no_more_alpha_acid_than_they_hold(case, decay):
    gross, alpha, lots = case
    lots.sort(key=lambda pair: (pair[0].last, pair[0].first))
    stock = [Lot(lot.quantity * 10, lot.first, lot.last) for lot, _ in lots]
    shares = np.array([share for _, share in lots])
    supplies = Supplies(
        item=np.zeros(len(lots), dtype=np.int64),
        quantity=np.array([lot.quantity for lot in stock]),
        first=np.array([lot.first for lot in stock]),
        last=np.array([lot.last for lot in stock]),
        alpha=shares,
        decay=np.full(len(lots), decay),
    )
    found = phased(
        Demands(item=np.array([0]), weight=np.array([gross]), alpha=np.array([alpha], dtype=float)),
        supplies,
        items=1,
    )
    weights, given = found.taken_for_alpha, found.alpha_given
    on_day = shares[:, None] * np.exp(-decay * np.arange(BUCKETS))
    assert ((found.taken[0] + weights).sum(axis=1) <= supplies.quantity).all()
    assert (given <= weights * on_day + 1e-6).all()
    assert np.allclose(given.sum(axis=0) + found.alpha_net[0], alpha, atol=1e-4)
