"""Older lots go to lighter kits: checked against every way there is, where those are few."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.matching import Assignment, YeastLot, YeastNeed, matched

PACK_ON = date(2026, 12, 1)


def lot(code: str, packs: int, living: float, *, days_old: int = 0, last_day: date | None = None):
    strength = dict.fromkeys("ABC", living)
    born_on = PACK_ON - timedelta(days=days_old)
    return YeastLot(code=code, packs=packs, born_on=born_on, strength=strength, last_day=last_day)


def need(key: str, kits: int, asked: float, packs: int = 1, **limits: float) -> YeastNeed:
    return YeastNeed(key=key, kits=kits, packs=packs, asked=asked, pack_on=PACK_ON, **limits)


def test_the_older_lot_goes_to_the_lighter_kit():
    old, young = lot("OLD", 4, 0.6, days_old=60), lot("NEW", 4, 0.95)
    found = matched([young, old], [need("A", 4, 0.95), need("B", 4, 0.55)])
    assert found.kits == {("OLD", "B"): 4, ("NEW", "A"): 4}
    assert (found.at_target, found.served, found.unserved, found.proved) == (8, 8, {}, True)


def test_the_older_lot_goes_first_where_both_would_do():
    old, young = lot("OLD", 3, 0.9, days_old=60), lot("NEW", 4, 0.95)
    assert matched([young, old], [need("A", 4, 0.5)]).kits == {("OLD", "A"): 3, ("NEW", "A"): 1}


def test_where_neither_reaches_the_target_of_the_strong_kit_it_still_gets_the_younger():
    old, young = lot("OLD", 4, 0.6, days_old=60), lot("NEW", 4, 0.8)
    found = matched([young, old], [need("A", 4, 1.0), need("B", 4, 0.55)])
    assert found.kits == {("OLD", "B"): 4, ("NEW", "A"): 4}


def test_where_neither_reaches_the_target_of_the_only_kit_the_older_goes_first():
    old, young = lot("OLD", 1, 0.6, days_old=60), lot("NEW", 1, 0.8)
    assert matched([young, old], [need("A", 1, 1.0)]).kits == {("OLD", "A"): 1}


def test_just_enough_in_binary_is_the_target():
    found = matched([lot("X", 3, 0.7)], [need("A", 1, 2.1, packs=3)])
    assert (3 * 0.7 / 2.1 < 1, found.at_target) == (True, 1)


def test_below_the_floor_nothing_is_served():
    found = matched([lot("OLD", 9, 0.2)], [need("A", 4, 0.5)])
    assert (found.kits, found.unserved) == ({}, {"A": 4})


def test_a_kit_of_its_own_floor_takes_what_others_may_not():
    found = matched([lot("OLD", 9, 0.2)], [need("A", 4, 0.5, floor=0.4, target=0.4)])
    assert (found.at_target, found.served) == (4, 4)


def test_a_lot_past_its_last_day_serves_nothing():
    gone = lot("OLD", 9, 1.0, last_day=PACK_ON - timedelta(days=1))
    assert matched([gone], [need("A", 4, 0.5)]).served == 0
    assert matched([lot("OLD", 9, 1.0, last_day=PACK_ON)], [need("A", 4, 0.5)]).served == 4


def test_a_kit_takes_all_its_packs_from_one_lot():
    found = matched([lot("X", 3, 1.0), lot("Y", 1, 1.0)], [need("A", 2, 2.0, packs=2)])
    assert found.served == 1


def test_large_runs_are_answered_in_a_bounded_number_of_steps():
    lots = [lot(f"L{n}", 37 + 11 * n, 0.55 + 0.05 * n, days_old=90 - n) for n in range(6)]
    needs = [need(key, 60, 0.6 + 0.1 * n, packs=1 + n) for n, key in enumerate("ABC")]
    found = matched(lots, needs)
    check(found, lots, needs)
    assert found.served > 150


SHARES = st.sampled_from([0.3, 0.45, 0.6, 0.8, 1.0])


@st.composite
def stores(draw: st.DrawFn) -> tuple[list[YeastLot], list[YeastNeed]]:
    keys = "ABC"[: draw(st.integers(1, 3))]
    lots = [
        YeastLot(
            code=code,
            packs=draw(st.integers(0, 4)),
            born_on=PACK_ON - timedelta(days=draw(st.integers(0, 90))),
            strength={key: draw(SHARES) for key in keys},
            last_day=draw(st.sampled_from([None, None, PACK_ON - timedelta(days=1)])),
        )
        for code in "XY"[: draw(st.integers(1, 2))]
    ]
    needs = [
        need(key, draw(st.integers(1, 3)), draw(SHARES), packs=draw(st.integers(1, 2)))
        for key in keys
    ]
    return lots, needs


@settings(max_examples=150)
@given(stores())
def test_no_way_at_all_is_better_by_the_aims_in_their_order(store):
    lots, needs = store
    found = matched(lots, needs)
    check(found, lots, needs)
    assert found.proved
    assert worth(found.kits, lots, needs) == max(
        worth(way, lots, needs) for way in every_way(lots, needs)
    )


def pitched(lot: YeastLot, need: YeastNeed) -> float:
    return need.packs * lot.strength[need.key] / need.asked


def allowed(lot: YeastLot, need: YeastNeed) -> bool:
    in_time = lot.last_day is None or lot.last_day >= need.pack_on
    return in_time and pitched(lot, need) >= need.floor - 1e-9


def check(found: Assignment, lots: list[YeastLot], needs: list[YeastNeed]) -> None:
    """Check that every pack and every kit is there, and that the totals are true."""
    by_code, by_key = {lot.code: lot for lot in lots}, {need.key: need for need in needs}
    for (code, key), kits in found.kits.items():
        assert kits > 0
        assert allowed(by_code[code], by_key[key])
    for lot in lots:
        taken = sum(n * by_key[key].packs for (c, key), n in found.kits.items() if c == lot.code)
        assert taken <= lot.packs
    for need in needs:
        given = sum(kits for (_, key), kits in found.kits.items() if key == need.key)
        assert given + found.unserved.get(need.key, 0) == need.kits
    full, served, *_ = worth(found.kits, lots, needs)
    assert (found.at_target, found.served) == (full, served)


def worth(kits, lots: list[YeastLot], needs: list[YeastNeed]) -> tuple[int, ...]:
    by_code, by_key = {lot.code: lot for lot in lots}, {need.key: need for need in needs}
    full = sum(
        n for (c, k), n in kits.items()
        if pitched(by_code[c], by_key[k]) >= by_key[k].target - 1e-9
    )  # fmt: skip
    oldest_first = sorted(lots, key=lambda lot: (lot.born_on, lot.code))
    used = [
        sum(n * by_key[k].packs for (c, k), n in kits.items() if c == lot.code)
        for lot in oldest_first
    ]
    given = sum(
        n * round(min(1.0, pitched(by_code[c], by_key[k]) / by_key[k].target) * 1e6)
        for (c, k), n in kits.items()
    )
    return (full, sum(kits.values()), *used, given)


def every_way(lots: list[YeastLot], needs: list[YeastNeed]) -> Iterator[dict[tuple[str, str], int]]:
    pairs = [(lot, need) for lot in lots for need in needs if allowed(lot, need)]
    for counts in product(*(range(need.kits + 1) for _, need in pairs)):
        way = {(lot.code, need.key): n for (lot, need), n in zip(pairs, counts, strict=True) if n}
        packs = {lot.code: 0 for lot in lots}
        given = {need.key: 0 for need in needs}
        for (lot, need), n in zip(pairs, counts, strict=True):
            packs[lot.code] += n * need.packs
            given[need.key] += n
        if all(packs[lot.code] <= lot.packs for lot in lots) and all(
            given[need.key] <= need.kits for need in needs
        ):
            yield way
