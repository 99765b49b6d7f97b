"""What a run lacks of malt and boxes, and how many kits are possible all the same."""

from __future__ import annotations

from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from planning.engine.lots import LotSupply
from planning.engine.shortage import KitLine, LineKits, Shortage, run_shortage

DAY = date(2025, 6, 2)


def lots(**quantities):
    return {
        item: [LotSupply(lot=1, code="L-1", available=quantity)]
        for item, quantity in quantities.items()
    }


def test_run_with_enough_of_everything_lacks_nothing():
    short = run_shortage(
        lines=[KitLine(line="Ale", kits=4, per_kit={"malt": 2_000, "box": 1})],
        lots_by_item=lots(malt=8_000, box=4),
        on=DAY,
    )

    assert short.items == ()
    assert short.lines == (LineKits(line="Ale", kits=4, possible=4, limited_by=()),)


def test_earlier_line_takes_its_malt_first():
    short = run_shortage(
        lines=[
            KitLine(line="Ale", kits=4, per_kit={"malt": 2_000, "box": 1}),
            KitLine(line="Stout", kits=4, per_kit={"malt": 3_000, "box": 1}),
        ],
        lots_by_item=lots(malt=15_000, box=7),
        on=DAY,
    )

    assert short.items == (
        Shortage(item="malt", needed=20_000, available=15_000, kits_possible=6),
        Shortage(item="box", needed=8, available=7, kits_possible=7),
    )
    assert [row.short for row in short.items] == [5_000, 1]
    assert short.lines[1] == LineKits(line="Stout", kits=4, possible=2, limited_by=("malt",))


def test_kits_that_one_item_stops_leave_the_others_for_the_next_line():
    short = run_shortage(
        lines=[
            KitLine(line="Ale", kits=4, per_kit={"malt": 2_000, "oats": 500}),
            KitLine(line="Stout", kits=4, per_kit={"malt": 2_000}),
        ],
        lots_by_item=lots(malt=8_000, oats=500),
        on=DAY,
    )

    assert [(line.possible, line.limited_by) for line in short.lines] == [
        (1, ("oats",)),
        (3, ("malt",)),
    ]


def test_expired_lot_and_overage_count_against_the_run():
    malt = [
        LotSupply(lot=1, code="L-1", available=9_000, last_day=date(2025, 6, 1)),
        LotSupply(lot=2, code="L-2", available=8_000),
    ]

    short = run_shortage(
        lines=[KitLine(line="Ale", kits=4, per_kit={"malt": 2_000})],
        lots_by_item={"malt": malt},
        on=DAY,
        overage={"malt": 0.01},
    )

    (item,) = short.items
    assert (item.needed, item.available, item.short, item.kits_possible) == (8_080, 8_000, 80, 3)


def test_item_without_lots_and_nothing_needed_of_it():
    short = run_shortage(
        lines=[KitLine(line="Ale", kits=4, per_kit={"malt": 2_000, "salt": 0})],
        lots_by_item={},
        on=DAY,
    )

    assert [item.item for item in short.items] == ["malt"]
    assert short.lines[0].possible == 0


@given(
    kits=st.lists(st.integers(0, 12), min_size=1, max_size=4),
    per_kit=st.lists(st.integers(0, 9), min_size=4, max_size=4),
    stock=st.integers(0, 150),
    overage=st.sampled_from([0.0, 0.05]),
)
def test_possible_kits_never_take_more_than_there_is(kits, per_kit, stock, overage):
    lines = [
        KitLine(line=str(at), kits=count, per_kit={"malt": per_kit[at]})
        for at, count in enumerate(kits)
    ]

    short = run_shortage(
        lines=lines, lots_by_item=lots(malt=stock), on=DAY, overage={"malt": overage}
    )

    used = sum(
        row.possible * line.per_kit["malt"] for row, line in zip(short.lines, lines, strict=True)
    )
    assert used <= stock
    assert all(row.possible <= row.kits for row in short.lines)
    assert bool(short.items) == any(row.possible < row.kits for row in short.lines)
