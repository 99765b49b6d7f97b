"""Runs that the bench can pack: minimum, multiple, levelling backwards, kits that end."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.capacity import RunRule, suggested_runs


def made(net, *rules, works=None, capacity=None):
    net = np.atleast_2d(np.array(net, dtype=np.int64))
    rules = rules or (RunRule(),) * len(net)
    works = np.ones(net.shape[1], dtype=bool) if works is None else np.array(works, dtype=bool)
    capacity = None if capacity is None else np.array(capacity)
    return suggested_runs(net, rules, works=works, capacity=capacity)


def runs(found):
    return [(run.kit, run.bucket, run.kits) for run in found.runs]


def late(found):
    return [(each.kit, each.bucket, each.kits, each.made_on) for each in found.late]


def test_what_is_short_is_packed_on_its_day():
    found = made([[0, 5, 0, 7]])

    assert runs(found) == [(0, 1, 5), (0, 3, 7)]
    assert found.packed.tolist() == [0, 5, 0, 7]
    assert (found.late, found.runs[0].reasons) == ((), ())


def test_smallest_run_and_multiple_serve_the_days_after():
    found = made([[3, 4, 8]], RunRule(minimum=5, multiple=4))

    assert runs(found) == [(0, 0, 8), (0, 2, 8)]
    assert found.runs[0].reasons == (
        "Raised from 3 to 5 kits, the smallest run.",
        "Raised from 5 to 8 kits, a multiple of 4.",
    )


@pytest.mark.parametrize(
    ("net", "rule", "packed"),
    [
        ([3], RunRule(minimum=5), [(0, 0, 5)]),
        ([0, 0, 13], RunRule(multiple=10, last_sale=3), [(0, 2, 20)]),  # sold beyond the plan
        ([0, 13, 0], RunRule(multiple=10, last=1), [(0, 1, 13)]),
        ([0, 0, 4], RunRule(last=9), [(0, 2, 4)]),
    ],
)
def test_size_and_day_of_a_run_at_the_edges(net, rule, packed):
    assert runs(made([net], rule)) == packed


def test_multiple_that_no_day_holds_is_packed_in_parts():
    found = made([[0, 10]], RunRule(multiple=10), capacity=[5, 5])

    assert (runs(found), found.late) == ([(0, 0, 5), (0, 1, 5)], ())


def test_day_on_which_nobody_works_is_packed_for_before():
    assert runs(made([[0, 0, 6]], works=[1, 1, 0])) == [(0, 1, 6)]


def test_full_bench_packs_a_whole_run_on_an_earlier_day():
    found = made([[0, 0, 40], [0, 0, 40]], capacity=[60, 60, 60])

    assert runs(found) == [(1, 1, 40), (0, 2, 40)]
    assert found.runs[0].reasons == ("Packed earlier: its own day has no room for it.",)


def test_run_that_no_day_holds_is_packed_in_parts():
    found = made([[0, 0, 50]], capacity=[20, 20, 20])

    assert runs(found) == [(0, 0, 10), (0, 1, 20), (0, 2, 20)]
    assert found.runs[1].reasons[0] == ("Packed in parts: 20 of 50 kits, as many as the bench can.")


def test_parts_are_not_below_the_smallest_run_unless_it_would_be_late():
    rule = RunRule(minimum=10)

    assert runs(made([[0, 25]], rule, capacity=[20, 20])) == [(0, 0, 10), (0, 1, 15)]
    assert runs(made([[0, 14]], rule, capacity=[6, 8])) == [(0, 0, 6), (0, 1, 8)]


def test_existing_runs_have_taken_their_capacity():
    assert runs(made([[0, 9]], capacity=[9, 8])) == [(0, 0, 9)]


def test_what_cannot_be_in_time_is_packed_as_soon_as_it_can_be():
    found = made([[30, 0, 0]], capacity=[10, 15, 15])

    assert runs(found) == [(0, 0, 10), (0, 1, 15), (0, 2, 5)]
    assert late(found) == [(0, 0, 15, 1), (0, 0, 5, 2)]
    assert found.late[0].reason == "The bench is full before it is needed."


def test_what_can_be_in_time_is_not_pushed_aside_by_what_is_late():
    found = made([[30, 0, 0], [0, 15, 0]], capacity=[10, 15, 30])

    assert late(found) == [(0, 0, 20, 2)]
    assert (1, 1, 15) in runs(found)


def test_late_kits_are_packed_in_small_parts_rather_than_never():
    found = made([[10, 0, 0]], RunRule(minimum=10), capacity=[0, 6, 6])

    assert late(found) == [(0, 0, 6, 1), (0, 0, 4, 2)]


def test_what_no_day_holds_is_never_made_and_says_so():
    found = made([[0, 30]], capacity=[10, 10])

    assert late(found) == [(0, 1, 10, None)]
    assert found.late[0].reason.endswith("There is no room for it within the plan.")


def test_needed_today_when_nobody_works_is_late():
    found = made([[6, 0]], works=[0, 1])

    assert late(found) == [(0, 0, 6, 1)]
    assert "nobody works" in found.late[0].reason


def test_kit_that_is_not_packed_yet_is_late_until_its_first_day():
    found = made([[0, 6, 0]], RunRule(first=2))

    assert (runs(found), late(found)) == ([(0, 2, 6)], [(0, 1, 6, 2)])
    assert found.late[0].reason == "It is needed before the first day on which it is packed."


def test_last_run_covers_all_that_is_still_sold():
    found = made([[0, 4, 3, 2, 9]], RunRule(last=1, last_sale=3))

    assert (runs(found), found.late) == ([(0, 1, 9)], ())


def test_last_run_of_a_kit_that_ends_leaves_nothing_over():
    found = made([[12, 0, 13]], RunRule(minimum=10, multiple=10, last_sale=2))

    assert runs(found) == [(0, 0, 20), (0, 2, 5)]
    assert found.runs[1].reasons == (
        "The last run makes exactly the 5 kits that are still wanted, and not 10.",
    )


def test_run_that_covers_all_that_is_still_wanted_is_the_last_and_leaves_nothing_over():
    found = made([[12, 0, 5]], RunRule(minimum=10, multiple=10, last_sale=2))

    assert runs(found) == [(0, 0, 17)]
    assert found.runs[0].reasons == (
        "The last run makes exactly the 17 kits that are still wanted, and not 20.",
    )


def test_kit_that_ends_after_the_plan_is_still_packed_in_multiples():
    assert runs(made([[0, 0, 13]], RunRule(multiple=10, last=2, last_sale=90))) == [(0, 2, 20)]


def test_kit_of_which_packing_is_over_is_named():
    found = made([[0, 6]], RunRule(last=-1))

    assert (runs(found), late(found)) == ([], [(0, 1, 6, None)])
    assert found.late[0].reason == "Its last day of packing has passed."


def test_what_the_last_day_of_packing_cannot_hold_is_named():
    found = made([[0, 30, 0]], RunRule(last=1), capacity=[10, 10, 30])

    assert late(found) == [(0, 1, 10, None)]
    assert "not packed after its last day" in found.late[0].reason


@pytest.mark.parametrize(("net", "capacity"), [([[-1]], None), ([[1]], [-1])])
def test_kits_below_zero_are_refused(net, capacity):
    with pytest.raises(ValueError, match="less than zero"):
        made(net, capacity=capacity)


def test_run_of_no_multiple_is_refused():
    with pytest.raises(ValueError, match="whole"):
        RunRule(multiple=0)


@st.composite
def benches(draw):
    days = draw(st.integers(1, 7))
    row = st.lists(st.just(0) | st.integers(1, 15), min_size=days, max_size=days)
    net = draw(st.lists(row, min_size=1, max_size=3))
    rules = [
        RunRule(
            minimum=draw(st.integers(1, 8)),
            multiple=draw(st.sampled_from([1, 1, 2, 5])),
            first=draw(st.sampled_from([0, 0, 2])),
            last=draw(st.sampled_from([None, None, 3])),
        )
        for _ in net
    ]
    works = draw(st.lists(st.booleans(), min_size=days, max_size=days))
    capacity = draw(st.none() | st.lists(st.integers(0, 20), min_size=days, max_size=days))
    return net, rules, works, capacity


@settings(max_examples=120)
@given(case=benches())
def test_bench_is_never_fuller_than_it_can_be_and_no_kit_is_forgotten(case):
    net, rules, works, capacity = case

    found = made(net, *rules, works=works, capacity=capacity)

    for day, packed in enumerate(found.packed):
        assert packed == sum(run.kits for run in found.runs if run.bucket == day)
        assert packed == 0 or works[day]
        assert capacity is None or packed <= capacity[day]
    for kit, (row, rule) in enumerate(zip(net, rules, strict=True)):
        of_kit = [run for run in found.runs if run.kit == kit]
        behind = [each for each in found.late if each.kit == kit]
        for run in of_kit:
            assert run.bucket >= rule.first
            assert rule.last is None or run.bucket <= rule.last
        never = sum(each.kits for each in behind if each.made_on is None)
        assert sum(run.kits for run in of_kit) + never >= sum(row)
        for day in range(len(row)):
            ready = sum(run.kits for run in of_kit if run.bucket <= day)
            owed = sum(
                each.kits
                for each in behind
                if each.bucket <= day and (each.made_on is None or each.made_on > day)
            )
            assert ready + owed >= sum(row[: day + 1])


@settings(max_examples=60)
@given(
    net=st.lists(st.integers(0, 12), min_size=1, max_size=6),
    capacity=st.lists(st.integers(0, 12), min_size=6, max_size=6),
)
def test_nothing_is_late_that_could_be_in_time(net, capacity):
    """Single kits may be packed in any parts: late is only what no days before it can hold."""
    capacity = capacity[: len(net)]

    found = made([net], capacity=capacity)

    most_short = max(sum(net[: day + 1]) - sum(capacity[: day + 1]) for day in range(len(net)))
    assert sum(each.kits for each in found.late) == max(0, most_short)
