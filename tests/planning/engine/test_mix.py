"""The mix of kits when something is short."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine import linear
from planning.engine.mix import Mix, MixKit, mixed
from planning.engine.solver import solver


def kit(
    name: str, earns: int, takes: dict[str, int], *, firm=(0,), most=10, overage=None
) -> MixKit:
    return MixKit(
        kit=name, firm=tuple(firm), most=most, earns=earns, takes=takes, overage=overage or {}
    )


def aims(kits: list[MixKit], numbers: tuple[int, ...]) -> tuple[int, ...]:
    """What the mix is judged by: firm kits by promise, then the margin."""
    served = [0] * len(kits[0].firm)
    for one, number in zip(kits, numbers, strict=True):
        left = number
        for place, promised in enumerate(one.firm):
            taken = min(left, promised)
            served[place] += taken
            left -= taken
    return (*served, sum(one.earns * n for one, n in zip(kits, numbers, strict=True)))


def fits(kits: list[MixKit], numbers: tuple[int, ...], stock: dict[str, int]) -> bool:
    return all(
        sum(one.needed(item, n) for one, n in zip(kits, numbers, strict=True)) <= there
        for item, there in stock.items()
    )


def best_by_trying(kits: list[MixKit], stock: dict[str, int]) -> tuple[int, ...]:
    ways = product(*(range(one.most + 1) for one in kits))
    return max(aims(kits, way) for way in ways if fits(kits, way, stock))


def judged(kits: list[MixKit], found: Mix) -> tuple[int, ...]:
    return aims(kits, tuple(found.kits[one.kit] for one in kits))


def test_firm_orders_come_before_margin():
    cheap = kit("CHEAP", 10_000, {"hop": 30}, firm=[3])
    dear = kit("DEAR", 500_000, {"hop": 30})
    found = mixed([cheap, dear], {"hop": 100})
    assert found.kits == {"CHEAP": 3, "DEAR": 0}
    assert found.firm_served == (3,)


def test_what_is_promised_earlier_comes_first():
    early = kit("EARLY", 10_000, {"hop": 50}, firm=[1, 0])
    late = kit("LATE", 90_000, {"hop": 30}, firm=[0, 3])
    found = mixed([early, late], {"hop": 90})
    assert found.firm_served == (1, 1)


def test_nothing_that_loses_money_is_packed_beyond_what_is_promised():
    found = mixed([kit("LOSS", -10_000, {"hop": 1}, firm=[2])], {"hop": 100})
    assert found.kits == {"LOSS": 2}


def test_what_nothing_holds_back_is_packed_to_the_most():
    found = mixed([kit("FREE", 1, {"malt": 1}, most=7)], {"hop": 0})
    assert (found.kits, found.prices, found.left) == ({"FREE": 7}, (), {})


def test_promises_that_need_the_same_last_unit_leave_a_mix():
    """The earlier promise takes all the malt: what the later ones keep of it is rounding."""
    early = kit("EARLY", 0, {"malt": 3}, firm=[1, 0], most=1)
    late = kit("LATE", 0, {"malt": 1}, firm=[0, 1], most=1)
    more = kit("MORE", 0, {"malt": 1}, firm=[0, 0], most=1)
    found = mixed([late, early, more], {"malt": 3})
    assert (found.kits, found.firm_served) == ({"LATE": 0, "EARLY": 1, "MORE": 0}, (1, 0))


def test_there_is_a_mix_of_nothing():
    found = mixed([], {"hop": 5})
    assert (found.kits, found.earns, found.proved) == ({}, 0, True)


def test_a_shadow_price_is_what_a_hundred_more_units_earn():
    kits = [
        kit("A", 400_000, {"hop": 20, "malt": 400}, most=1_000),
        kit("B", 300_000, {"hop": 10, "malt": 500}, most=1_000),
    ]
    stock = {"hop": 4_000, "malt": 120_000}
    found = mixed(kits, stock)
    for price in found.prices:
        more = stock | {price.item: stock[price.item] + 100}
        assert price.valid_for >= 100
        assert mixed(kits, more).relaxed - found.relaxed == pytest.approx(100 * price.worth)
    assert {price.item for price in found.prices} == {"hop", "malt"}


def test_where_an_order_cannot_be_kept_the_price_is_in_firm_kits():
    found = mixed([kit("A", 10_000, {"hop": 40}, firm=[5])], {"hop": 120})
    (price,) = found.prices
    assert price.firm == pytest.approx(1 / 40)
    assert price.valid_for == 80


def test_what_would_serve_firm_kits_has_no_price_by_what_other_kits_earn():
    firm, dear = kit("A", 10_000, {"hop": 40}, firm=[5]), kit("B", 90_000, {"hop": 30})
    (price,) = mixed([firm, dear], {"hop": 120}).prices
    assert (price.firm, price.worth, price.valid_for) == (pytest.approx(1 / 40), 0.0, 80)


@pytest.mark.parametrize("strategy", [1, 4], ids=["dual", "primal"])
@pytest.mark.parametrize("seed", range(8))
def test_a_price_holds_as_far_whichever_way_the_solver_goes(monkeypatch, seed, strategy):
    """Which stouts are the promised ones is the solver's choice; what they take is not."""
    options = {"random_seed": seed, "simplex_strategy": strategy}
    monkeypatch.setattr(linear, "solver", lambda **known: solver(**known | options))
    stout = kit("STOUT", 900_000, {"oats": 5, "malt": 40}, firm=[2])
    wit = kit("WIT", 1_200_000, {"oats": 10, "malt": 35})
    found = mixed([stout, wit], {"oats": 60, "malt": 400})
    assert [(price.item, price.valid_for) for price in found.prices] == [("oats", 41), ("malt", 35)]


def test_an_item_has_the_price_of_the_first_promise_that_needs_it():
    early = kit("EARLY", 1, {"hop": 20}, firm=[4, 0])
    late = kit("LATE", 1, {"malt": 50}, firm=[0, 4])
    prices = mixed([early, late], {"hop": 60, "malt": 150}).prices
    assert [(price.item, price.valid_for) for price in prices] == [("hop", 20), ("malt", 50)]
    assert [price.firm for price in prices] == pytest.approx([1 / 20, 1 / 50])


def test_what_more_of_alone_makes_no_more_kits_has_no_price():
    found = mixed([kit("A", 10_000, {"box": 1, "label": 2})], {"box": 6, "label": 12})
    assert (found.kits, found.prices) == ({"A": 6}, ())


def test_a_price_where_stock_and_wishes_end_at_once_is_that_of_one_more():
    kits = [kit("A", 10_000, {"hop": 10}, most=6), kit("B", 9_000, {"hop": 10}, most=3)]
    (price,) = mixed(kits, {"hop": 60}).prices
    assert (price.worth, price.valid_for) == (pytest.approx(900), 30)
    (price,) = mixed([kit("C", 80_000, {"box": 1, "hop": 40})], {"box": 3, "hop": 140}).prices
    assert (price.item, price.valid_for) == ("box", 1)
    assert price.worth == pytest.approx(40_000)  # hops for half a kit more


def test_stock_below_nothing_is_none_and_holds_no_other_kit_back():
    kits = [kit("A", 10_000, {"hop": 40}), kit("FREE", 1, {"malt": 10})]
    found = mixed(kits, {"hop": -5, "malt": 100})
    assert (found.kits, found.left) == ({"A": 0, "FREE": 10}, {"hop": 0, "malt": 0})


def test_overage_is_rounded_up_as_it_will_be_reserved():
    found = mixed([kit("A", 1, {"hop": 10}, overage={"hop": 0.05})], {"hop": 31})
    assert found.kits == {"A": 2}  # three would take 30 and 1.5, rounded up to 32
    assert found.left == {"hop": 10}


def test_a_mix_that_loses_where_nothing_might_be_lost_is_not_proved():
    loss = kit("LOSS", -10, {"hop": 10}, firm=[1], most=1, overage={"hop": 0.05})
    gain = kit("GAIN", 10, {"hop": 10}, most=1, overage={"hop": 0.05})
    found = mixed([loss, gain], {"hop": 21})  # 10.5 each, and so 11
    assert (found.kits, found.earns, found.bound) == ({"LOSS": 1, "GAIN": 0}, -10, 0)
    assert (found.gap, found.proved) == (10, False)


@pytest.mark.parametrize(
    ("kits", "words"),
    [
        ([kit("A", 1, {}), kit("A", 1, {})], "a name of its own"),
        ([kit("A", 1, {}, firm=[1]), kit("B", 1, {}, firm=[1, 2])], "the same promises"),
    ],
)
def test_kits_that_cannot_be_told_apart_are_refused(kits, words):
    with pytest.raises(ValueError, match=words):
        mixed(kits, {"hop": 1})


small = st.builds(
    lambda earns, hop, malt, first, second, more, over: (
        earns,
        {"hop": hop, "malt": malt},
        (first, second),
        first + second + more,
        {"hop": over},
    ),
    st.integers(-2, 30),
    st.integers(0, 9),
    st.integers(1, 9),
    st.integers(0, 2),
    st.integers(0, 2),
    st.integers(0, 3),
    st.sampled_from([0.0, 0.03, 0.1]),
)


@settings(max_examples=60)
@given(st.lists(small, min_size=1, max_size=3), st.integers(0, 60), st.integers(0, 60))
def test_no_way_of_trying_finds_a_better_mix(facts, hop, malt):
    kits = [
        kit(f"K{at}", earns, takes, firm=firm, most=most, overage=over)
        for at, (earns, takes, firm, most, over) in enumerate(facts)
    ]
    stock = {"hop": hop, "malt": malt}
    found = mixed(kits, stock)
    assert fits(kits, tuple(found.kits[one.kit] for one in kits), stock)
    best = best_by_trying(kits, stock)
    assert (*found.firm_served, found.earns) == judged(kits, found) <= best
    assert found.earns <= found.bound
    if not any(over["hop"] for *_, over in facts):  # nothing is rounded, so nothing is lost by it
        assert judged(kits, found) == best


def test_the_same_stock_gives_the_same_mix():
    kits = [kit(f"K{n}", 7 * n % 11 + 1, {"hop": n % 5 + 1, "malt": n % 7 + 2}) for n in range(12)]
    assert mixed(kits, {"hop": 90, "malt": 200}) == mixed(kits, {"hop": 90, "malt": 200})
