"""Every need is served by a supply that is good on its day, or is to be bought."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from planning.engine.lots import LotSupply
from planning.engine.requirements import Need, NetRow, Receipt, Source, requirement

TODAY = date(2025, 6, 2)


def day(number: int) -> date:
    return TODAY + timedelta(number)


def need(number: int, quantity: int, run: str = "RUN-1") -> Need:
    return Need(item="gold", on=day(number), quantity=quantity, run=run)


def lot(code: str, available: int, last: int | None = None) -> LotSupply:
    return LotSupply(
        lot=1, code=code, available=available, last_day=None if last is None else day(last)
    )


def netting(*, needs, lots=(), receipts=(), safety=0):
    return requirement(
        item="gold", needs=needs, lots=lots, receipts=receipts, today=TODAY, safety=safety
    )


def pegged(result):
    return [(peg.run, peg.quantity, peg.source, peg.reference) for peg in result.pegs]


def test_stock_then_orders_then_what_is_to_be_bought():
    result = netting(
        needs=[need(9, 100, "RUN-2"), need(2, 50)],
        lots=[lot("G-1", 60)],
        receipts=[Receipt(reference="PO-7", on=day(5), quantity=30)],
    )

    assert result.gross == 150
    assert result.net == (NetRow(on=day(9), quantity=60, past_due=False),)
    assert pegged(result) == [
        ("RUN-1", 50, Source.LOT, "G-1"),
        ("RUN-2", 10, Source.LOT, "G-1"),
        ("RUN-2", 30, Source.RECEIPT, "PO-7"),
        ("RUN-2", 60, Source.NET, day(9).isoformat()),
    ]
    assert [peg.run for peg in result.served_by(day(9))] == ["RUN-2"]


def test_lot_that_expires_before_the_need_does_not_count():
    result = netting(needs=[need(10, 40)], lots=[lot("G-1", 40, last=9)])

    assert result.net_total == 40


def test_lot_that_expires_first_goes_first():
    result = netting(
        needs=[need(3, 40), need(10, 40, "RUN-2")], lots=[lot("G-1", 40), lot("G-2", 40, last=5)]
    )

    assert [peg.reference for peg in result.pegs] == ["G-2", "G-1"]
    assert result.net == ()


def test_order_that_arrives_after_the_need_does_not_serve_it():
    result = netting(
        needs=[need(3, 40)], receipts=[Receipt(reference="PO-7", on=day(4), quantity=40)]
    )

    assert result.net_total == 40


def test_late_receipt_is_named_and_counts_from_today():
    result = netting(
        needs=[need(0, 40)], receipts=[Receipt(reference="PO-7", on=day(-4), quantity=40)]
    )

    assert result.late == ("PO-7",)
    assert result.net == ()


def test_need_of_a_day_gone_by_is_past_due_and_kept():
    result = netting(needs=[need(-3, 40)], lots=[lot("G-1", 10, last=-1)])

    assert result.net == (NetRow(on=day(-3), quantity=40, past_due=True),)


def test_safety_stock_is_left_after_every_need():
    result = netting(needs=[need(2, 50), need(4, 10, "RUN-2")], lots=[lot("G-1", 60)], safety=20)

    assert [(row.on, row.quantity) for row in result.net] == [(day(2), 10), (day(4), 10)]
    assert [peg.source for peg in result.pegs] == [Source.LOT, Source.LOT]


def test_order_under_way_serves_before_what_is_to_be_bought():
    result = netting(
        needs=[need(2, 50), need(5, 10, "RUN-2")],
        lots=[lot("G-1", 50)],
        receipts=[Receipt(reference="PO-7", on=day(4), quantity=30)],
        safety=20,
    )

    assert [(row.on, row.quantity) for row in result.net] == [(day(2), 20)]
    assert pegged(result)[-1] == ("RUN-2", 10, Source.RECEIPT, "PO-7")


def test_needs_of_other_items_are_left_alone():
    malt = Need(item="malt", on=day(1), quantity=5, run="RUN-1")

    assert netting(needs=[malt]).gross == 0


NEEDS = st.lists(st.tuples(st.integers(-3, 20), st.integers(1, 50)), max_size=6)
LOTS = st.lists(st.tuples(st.integers(0, 60), st.none() | st.integers(-2, 20)), max_size=4)
RECEIPTS = st.lists(st.tuples(st.integers(-3, 20), st.integers(1, 60)), max_size=3)


@given(needs=NEEDS, lots=LOTS, receipts=RECEIPTS, safety=st.sampled_from([0, 15]))
def test_pegs_make_each_need_and_no_supply_is_used_twice(needs, lots, receipts, safety):
    wanted = [need(on, quantity, f"RUN-{at}") for at, (on, quantity) in enumerate(needs)]
    stock = {f"G-{at}": lot(f"G-{at}", held, last) for at, (held, last) in enumerate(lots)}
    orders = {
        f"PO-{at}": Receipt(reference=f"PO-{at}", on=day(on), quantity=quantity)
        for at, (on, quantity) in enumerate(receipts)
    }

    result = netting(needs=wanted, lots=stock.values(), receipts=orders.values(), safety=safety)

    served: Counter[str] = Counter()
    used: Counter[tuple[Source, str]] = Counter()
    for peg in result.pegs:
        served[peg.run] += peg.quantity
        used[peg.source, peg.reference] += peg.quantity
        on = max(peg.on, TODAY)
        if peg.source is Source.LOT:
            assert stock[peg.reference].usable(on)
        if peg.source is Source.RECEIPT:
            assert orders[peg.reference].on <= on
    assert served == {one.run: one.quantity for one in wanted}
    net = {row.on.isoformat(): row.quantity for row in result.net}
    for (source, reference), quantity in used.items():
        limits = {
            Source.LOT: lambda code: stock[code].available,
            Source.RECEIPT: lambda code: orders[code].quantity,
            Source.NET: lambda due: net[due],
        }
        assert quantity <= limits[source](reference)
    if not safety:
        bought = sum(quantity for (source, _), quantity in used.items() if source is Source.NET)
        assert bought == result.net_total
