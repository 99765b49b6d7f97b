"""Lots for the runs of a horizon: what a search makes better of serving run after run."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from planning.engine.aims import aims_of, firm_kits, slivers
from planning.engine.chosen_lots import ChosenBatch, cut_as_chosen
from planning.engine.cutting import Stretch
from planning.engine.fewest_batches import fewest_batches
from planning.engine.improving import allocated
from planning.engine.lacking import lacking
from planning.engine.lots import LotSupply
from planning.engine.most_kits import most_kits
from planning.engine.programme import Found, Programme, Solved
from planning.engine.recheck import faults
from planning.engine.serving import by_promised_day, greedy, literal
from planning.management.made_up_horizon import made_up_horizon
from recipes.brewing.roles import HopRole
from tests.planning.engine.horizons import arriving, cut_of, horizon, pack_line
from tests.planning.engine.make import DAY, GOLD, PERLE, hop, yeast


def perle(*lots):
    return {
        "perle": [hop(at, grams, alpha=0.04, last=last) for at, (grams, last) in enumerate(lots)]
    }


def test_a_run_that_could_wait_for_the_small_lot_does_not_cut_the_big_run():
    """15 g a kit: 10 kits lie in the old lot, 20 in the new; the first run wants 8, then 20, 2."""
    lots = perle((150, 20), (300, 30))
    asked = horizon(
        pack_line(1, 12, lots, lines=(PERLE,), minimum=2),
        pack_line(2, 8, lots, day=1, lines=(PERLE,), minimum=2),
        pack_line(3, 10, lots, day=2, lines=(PERLE,), minimum=2),
    )

    found = allocated(asked)

    assert [len(greedy(asked)[line]) for line in (1, 2, 3)] == [1, 1, 2]
    assert {line: cut_of(found.answer, line, "perle") for line in (1, 2, 3)} == {
        1: [(12, 1)],
        2: [(8, 1)],
        3: [(10, 0)],
    }
    assert found.proved


def test_firm_orders_are_served_before_earlier_runs():
    lots = perle((150, 20))
    asked = horizon(
        pack_line(1, 10, lots, lines=(PERLE,)),
        pack_line(2, 10, lots, day=5, lines=(PERLE,), firm={9: 10}),
    )

    found = allocated(asked)

    assert cut_of(found.answer, 2, "perle") == [(10, 0)]
    assert found.answer[1] == ()
    assert found.most_kits == found.aims.kits == 10
    assert lacking(asked, found.answer) == {1: {"perle"}}


def test_kits_come_before_batches():
    """The late run can only use the late lot; the early one gives way to it."""
    lots = perle((120, 3), (240, 30))
    asked = horizon(
        pack_line(1, 12, lots, lines=(PERLE,), minimum=2),
        pack_line(2, 12, lots, day=10, lines=(PERLE,), minimum=2),
    )

    found = allocated(asked)

    assert found.greedy.kits == 16
    assert found.aims.kits == 24
    assert cut_of(found.answer, 1, "perle") == [(8, 0), (4, 1)]


def test_malt_that_is_short_goes_to_the_firm_order():
    malt = {"malt": [LotSupply(lot=90, code="M-1", available=50_000)]}
    lots = perle((900, 30))
    asked = horizon(
        pack_line(1, 10, lots, lines=(PERLE,), divisible={"malt": [5_000]}),
        pack_line(2, 10, lots, day=3, lines=(PERLE,), divisible={"malt": [5_000]}, firm={4: 8}),
        divisible=malt,
    )

    found = allocated(asked)

    assert found.aims.firm == (8,)
    assert found.aims.kits == 10
    assert faults(asked, found.answer) == []
    assert lacking(asked, found.answer)[1] == {"malt"}


def test_an_older_yeast_goes_to_the_kit_it_pitches_to_its_target():
    lots = {"ale": [yeast(0, 10, last=20), yeast(1, 10, last=30)]}
    asked = horizon(
        pack_line(1, 10, lots, lines=(), bound={"ale": 1}, weak=[0]),
        pack_line(2, 10, lots, day=1, lines=(), bound={"ale": 1}),
    )

    found = allocated(asked)

    assert (found.greedy.weak, found.aims.weak) == (10, 0)
    assert cut_of(found.answer, 2, "ale") == [(10, 0)]


def test_taking_first_expired_literally_makes_a_batch_of_every_rest():
    lots = perle((30, 10), (45, 12), (900, 30))
    asked = horizon(pack_line(1, 20, lots, lines=(PERLE,)))

    assert cut_of(literal(asked), 1, "perle") == [(2, 0), (3, 1), (15, 2)]
    assert cut_of(greedy(asked), 1, "perle") == [(20, 2)]
    assert aims_of(asked, literal(asked)).under_minimum == 2


def test_a_sliver_is_more_than_a_kit_and_less_than_a_batch():
    lots = perle((150, 20), (305, 30))
    asked = horizon(pack_line(1, 20, lots, lines=(PERLE,), minimum=6))

    def answer(kits, lot):
        return {1: (Stretch(kits=kits, lots={"perle": lots["perle"][lot]}),)}

    assert slivers(asked, answer(6, 0)) == [0]
    assert slivers(asked, answer(10, 0)) == []
    assert slivers(asked, answer(20, 1)) == []
    assert slivers(asked, answer(9, 0)) == [0]  # one kit is left
    assert slivers(asked, answer(4, 0)) == []  # six are left, a batch


def test_a_rest_is_judged_by_the_kit_that_takes_the_least_of_it():
    """Five kits of 10 g lie in what is left: a batch for the small kit, and none for the large."""
    lots = perle((50, 20))
    light = replace(PERLE, reference_mg=10_000)
    asked = horizon(
        pack_line(1, 5, lots, lines=(light,), minimum=5),
        pack_line(2, 5, lots, lines=(PERLE,), minimum=5),
    )
    assert asked.rests == {0: (10_000, 50_000)}
    assert slivers(asked, {}) == []


def test_a_line_serves_the_earliest_of_its_own_promised_days():
    asked = horizon(pack_line(1, 10, perle((900, 30)), lines=(PERLE,), firm={9: 6, 4: 3}))
    assert firm_kits(asked, {1: 5}) == (3, 2)


def test_lines_are_served_by_what_is_promised_first_and_then_by_the_day_of_packing():
    asked = horizon(
        pack_line(1, 9, {}, lines=(), day=1),
        pack_line(2, 9, {}, lines=(), day=3, firm={8: 1}),
        pack_line(3, 9, {}, lines=(), day=4, firm={7: 1, 9: 1}),
        pack_line(4, 9, {}, lines=()),
    )
    assert [line.line for line in asked.lines] == [3, 2, 4, 1]


def test_what_is_wrong_with_an_answer_is_said():
    early, late = hop(0, 150, alpha=0.04, last=2), arriving(hop(1, 900, alpha=0.04, last=40), 5)
    asked = horizon(pack_line(1, 12, {"perle": [early, late]}, day=1, lines=(PERLE,)))

    def said(kits, lot):
        return " ".join(faults(asked, {1: (Stretch(kits=kits, lots={"perle": lot}),)}))

    assert "overdrawn by 15000" in said(11, early)
    assert "may not be used on" in said(5, late)
    assert "packs 13 kits of the 12" in said(13, early)
    assert "without kits or without a lot" in said(0, early)


def test_a_lot_is_overdrawn_by_a_single_unit_and_never_by_none():
    asked = horizon(pack_line(1, 9, {"ale": [yeast(0, 8)]}, lines=(), bound={"ale": 1}))

    def faults_of(kits):
        return faults(asked, {1: (Stretch(kits=kits, lots={"ale": yeast(0, 8)}),)})

    assert (faults_of(8), faults_of(9)) == ([], ["Lot Y-0 is overdrawn by 1."])


def test_malt_that_two_lines_take_together_has_to_reach_for_both():
    asked = horizon(
        *(pack_line(at, 6, {}, lines=(), divisible={"malt": [5_000]}) for at in (1, 2)),
        divisible={"malt": [LotSupply(lot=90, code="M-1", available=50_000)]},
    )

    def faults_of(*kits):
        return faults(
            asked, {at: (Stretch(kits=count, lots={}),) for at, count in enumerate(kits, start=1)}
        )

    assert faults_of(6, 4) == []
    assert faults_of(6, 5) == ["Line 2: what is not bound to a lot does not hold 5 kits."]


def test_a_batch_without_one_of_its_lots_or_beyond_a_limit_is_wrong():
    weak, usual = hop(0, 900, alpha=0.02), hop(1, 900)
    asked = horizon(pack_line(1, 9, {"gold": [weak, usual]}, lines=(GOLD,)))

    def said(**lots):
        return " ".join(faults(asked, {1: (Stretch(kits=9, lots=lots),)}))

    assert said(gold=usual) == ""
    assert "without a lot" in said()
    assert "more than 2 times its reference" in said(gold=weak)


def test_a_search_that_is_stopped_keeps_the_greedy_answer():
    lots = perle((150, 20), (300, 30))
    asked = horizon(*(pack_line(at, 10, lots, day=at, lines=(PERLE,)) for at in range(3)))
    steps = []

    found = allocated(asked, report=lambda *step: steps.append(step), stop=lambda: True)

    assert found.stopped
    assert found.aims == found.greedy
    assert [done for done, _, _ in steps] == sorted(done for done, _, _ in steps)
    assert all(done < total for done, total, _ in steps)


def test_a_search_stopped_halfway_keeps_what_was_better():
    lots = perle((150, 20), (300, 30))
    asked = horizon(
        pack_line(1, 12, lots, lines=(PERLE,), minimum=2),
        pack_line(2, 8, lots, day=1, lines=(PERLE,), minimum=2),
        pack_line(3, 10, lots, day=2, lines=(PERLE,), minimum=2),
    )
    stage = []

    found = allocated(
        asked,
        report=lambda *step: stage.append(step[-1]),
        stop=lambda: stage[-1] == "lining up changes",
    )

    assert found.aims.batches < found.greedy.batches


class Cancelled:
    """A person who cancels when the search looks for the ``asked``-th time."""

    def __init__(self, asked):
        self.left = asked

    def __call__(self):
        self.left -= 1
        return self.left < 0


def test_whenever_a_search_is_cancelled_there_is_a_sound_answer():
    asked = made_up_horizon(8, 7)
    first = aims_of(asked, greedy(asked))

    for times in range(24):
        found = allocated(asked, stop=Cancelled(times))

        assert found.stopped
        assert found.aims.worth >= first.worth
        assert found.fewest_batches <= found.aims.batches
        assert found.aims.kits <= found.most_kits <= sum(line.kits for line in asked.lines)


def test_a_line_with_two_promised_days_leaves_what_another_needs_between_them():
    """15 g a kit, three kits in all: one for day 4, one for day 5, and the last for day 6."""
    lots = perle((45, 20))
    asked = horizon(
        pack_line(1, 4, lots, lines=(PERLE,), minimum=1, firm={4: 1, 6: 3}),
        pack_line(2, 4, lots, lines=(PERLE,), minimum=1, firm={5: 1}),
    )

    served = by_promised_day(asked)

    assert aims_of(asked, greedy(asked)).firm == (1, 0, 2)
    assert aims_of(asked, served).firm == allocated(asked).aims.firm == (1, 1, 1)
    assert faults(asked, served) == []


def test_a_lot_that_fits_beside_a_middling_one_alone_counts_for_the_most_kits():
    """Beside the oldest and strongest aroma lot nothing is left for the bittering hop."""
    aroma = replace(PERLE, reference_mg=20_000, ibu_per_gram=10.0)
    bitter = replace(GOLD, reference_mg=6_000)
    lots = {
        "gold": [hop(0, 12)],
        "perle": [hop(1, 60, alpha=0.1, last=9), hop(2, 40, alpha=0.04, last=30)],
    }
    asked = horizon(pack_line(1, 3, lots, lines=(bitter, aroma), minimum=1))
    begun = greedy(asked)

    assert cut_of(begun, 1, "gold", "perle") == [(2, 0, 2)]
    assert asked.lines[0].fits("gold", lots["gold"][0])
    assert not asked.lines[0].fits("perle", lots["perle"][0])
    assert most_kits(asked, begun).most == 2


def test_a_lot_that_holds_the_kits_to_the_last_pack_is_one_batch_by_the_bound_too():
    """Ten in a hundred packs are lost: 50 kits take just the 55 packs of the second lot."""
    lots = {"ale": [yeast(0, 30, last=20), yeast(1, 55, last=30)]}
    asked = horizon(pack_line(1, 50, lots, lines=(), bound={"ale": 1}, overage={"ale": 0.1}))
    halves = tuple(Stretch(kits=25, lots={"ale": lot}) for lot in lots["ale"])

    assert cut_of(greedy(asked), 1, "ale") == [(50, 1)]
    assert fewest_batches(asked, {1: halves}) == 1


def test_a_weight_that_rounds_to_nothing_can_be_given_a_lot():
    """40 mg in steps of 100 mg: a kit takes nothing of the hop, and the older lot is named."""
    trace = replace(GOLD, reference_mg=40)
    lots = {"gold": [hop(0, 100, last=20), hop(1, 100, last=30)]}
    asked = horizon(pack_line(1, 10, lots, lines=(trace,)))

    assert cut_of(allocated(asked).answer, 1, "gold") == [(10, 0)]


def test_how_far_an_answer_may_be_from_the_best_is_a_share_of_its_own_batches():
    asked = horizon(pack_line(1, 25, perle((150, 20), (150, 30), (150, 40)), lines=(PERLE,)))
    found = allocated(asked)
    loose = replace(found, fewest_batches=2)

    assert (found.aims.batches, found.gap, found.proved) == (3, 0.0, True)
    assert (loose.gap, loose.proved) == (pytest.approx(1 / 3), False)


def test_the_bound_of_a_weight_is_a_step_below_it_only_where_several_are_rounded():
    lots = {"gold": [hop(0, 900)], "perle": [hop(1, 900, alpha=0.04)]}
    one = pack_line(1, 9, lots)
    two = pack_line(1, 9, lots, lines=(GOLD, replace(PERLE, role=HopRole.HOLD_BITTERNESS)))

    assert [one.lightest(item, *lots[item]) for item in lots] == [20_000, 15_000]
    assert [two.lightest(item, *lots[item]) for item in lots] == [19_900, 14_900]


def test_what_is_lost_on_top_counts_where_lots_are_too_few():
    """150 g hold ten kits of 15 g, and nine where a tenth is lost: ten kits take two lots."""
    lots = perle((150, 20), (150, 30))
    for lost, fewest in ((0.0, 1), (0.1, 2)):
        asked = horizon(pack_line(1, 10, lots, lines=(PERLE,), overage={"perle": lost}))
        halves = tuple(Stretch(kits=5, lots={"perle": lot}) for lot in lots["perle"])
        assert fewest_batches(asked, {1: halves}) == fewest


def test_what_lines_need_together_counts_for_the_fewest_batches():
    """Two lots of twelve kits hold two of three lines of eight whole, and cut the third."""
    lots = perle((180, 20), (180, 30))
    asked = horizon(*(pack_line(at, 8, lots, lines=(PERLE,), minimum=1) for at in (1, 2, 3)))
    assert fewest_batches(asked, literal(asked)) == 4


def test_the_bounds_are_what_is_proved_and_not_what_was_found(monkeypatch):
    """A search that ends early: 5 batches found and 3 proved, 12 kits found and 13 proved."""
    lots = perle((150, 20), (150, 30), (150, 40))
    asked = horizon(*(pack_line(at, 20, lots, lines=(PERLE,), minimum=1) for at in (1, 2)))
    begun = literal(asked)

    def ends_with(value, bound):
        ended = Found(columns=(0,) * 99, solved=(Solved(value=value, bound=bound),))
        monkeypatch.setattr(Programme, "smallest", lambda *_, **__: ended)

    ends_with(5.0, 3.000_000_1)
    few = horizon(*(pack_line(at, 8, lots, lines=(PERLE,), minimum=1) for at in (1, 2)))
    assert fewest_batches(few, literal(few)) == 3
    ends_with(-12.0, -13.4)
    assert most_kits(asked, begun).most == 13


def test_no_plan_has_fewer_batches_than_the_bound():
    lots = perle((150, 20), (150, 30), (150, 40))
    asked = horizon(pack_line(1, 25, lots, lines=(PERLE,)))

    assert fewest_batches(asked, greedy(asked)) == 3


def test_a_choice_made_before_is_reckoned_anew_and_ends_where_it_no_longer_holds():
    lots = {"gold": [hop(1, 600, alpha=0.05, last=9), hop(2, 400, alpha=0.056, last=9)]}
    kit = pack_line(1, 40, lots, lines=(GOLD,)).kit
    chosen = [
        ChosenBatch(kits=30, lots={"gold": 1}),
        ChosenBatch(kits=10, lots={"gold": 2}),
    ]

    whole = cut_as_chosen(kit, chosen, lots, DAY)
    weaker = cut_as_chosen(kit, chosen, {"gold": [lots["gold"][0]]}, DAY)
    expired = cut_as_chosen(kit, chosen, lots, DAY + timedelta(10))

    assert [(batch.kits, batch.weights["gold-60"]) for batch in whole.batches] == [
        (30, 20_000),
        (10, 17_900),
    ]
    assert (weaker.kits, expired.kits) == (30, 0)


@pytest.mark.parametrize("kits", [1, 7])
def test_kits_without_hops_are_one_batch(kits):
    asked = horizon(pack_line(1, kits, {}, lines=()))
    assert [stretch.kits for stretch in allocated(asked).answer[1]] == [kits]
