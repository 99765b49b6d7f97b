"""The most kits there could be, and for whom."""

from __future__ import annotations

from datetime import timedelta

import pytest

from planning.engine.lots import LotSupply
from planning.engine.most_kits import most_kits
from planning.engine.recheck import faults
from planning.engine.serving import greedy, topped_up
from tests.planning.engine.horizons import cut_of, horizon, pack_line
from tests.planning.engine.make import DAY, GOLD, PERLE, hop


def perle(grams):
    return {"perle": [hop(0, grams, alpha=0.04, last=30)]}


def test_the_earlier_promise_is_kept_where_not_all_can_be():
    """15 g a kit: fifteen kits for ten promised sooner and ten later."""
    asked = horizon(
        pack_line(1, 10, perle(225), lines=(PERLE,), firm={9: 10}),
        pack_line(2, 10, perle(225), lines=(PERLE,), firm={5: 10}),
    )
    assert most_kits(asked, {}).kits == {1: 5, 2: 10}


def test_kits_of_lines_that_lack_nothing_count_too():
    lots = perle(150) | {"gold": [hop(1, 900, last=30)]}
    asked = horizon(
        pack_line(1, 15, lots, lines=(PERLE,)), pack_line(2, 7, lots, lines=(GOLD,))
    )  # fmt: skip
    found = most_kits(asked, greedy(asked))
    assert (found.kits, found.most) == ({1: 10, 2: 7}, 17)


def test_a_lot_that_goes_with_no_other_makes_no_kits():
    """A gold lot at 2 % alpha acid would need more than twice its reference weight."""
    lots = {"gold": [hop(0, 40, last=9), hop(1, 900, alpha=0.02, last=30)]}
    asked = horizon(pack_line(1, 10, lots, lines=(GOLD,)))
    assert most_kits(asked, greedy(asked)).most == 2


@pytest.mark.parametrize(
    ("malt", "most"),
    [
        ([LotSupply(lot=90, code="M-1", available=50_000)], 9),
        (
            [
                LotSupply(lot=90, code="M-1", available=50_000),
                LotSupply(lot=91, code="M-2", available=50_000, last_day=DAY - timedelta(1)),
            ],
            9,
        ),
    ],
)
def test_malt_counts_with_its_overage_and_while_it_is_usable(malt, most):
    """5,000 and a tenth of it on top a kit: 50,000 hold nine kits."""
    asked = horizon(
        pack_line(1, 20, perle(900), lines=(PERLE,), divisible={"malt": [5_000]},
                  overage={"malt": 0.1}),
        divisible={"malt": malt},
    )  # fmt: skip
    assert most_kits(asked, {}).most == most


def test_what_one_line_is_topped_up_with_is_gone_for_the_next():
    """Hops for twelve kits, malt for eleven: eight go to the first line and three to the next."""
    asked = horizon(
        *(
            pack_line(at, 8, perle(180), lines=(PERLE,), minimum=1, divisible={"malt": [5_000]})
            for at in (1, 2)
        ),
        divisible={"malt": [LotSupply(lot=90, code="M-1", available=55_000)]},
    )
    found = topped_up(asked, {1: (), 2: ()})
    assert [cut_of(found, at, "perle") for at in (1, 2)] == [[(8, 0)], [(3, 0)]]
    assert faults(asked, found) == []


def test_hops_that_one_line_is_topped_up_with_are_gone_for_the_next():
    asked = horizon(*(pack_line(at, 8, perle(180), lines=(PERLE,), minimum=1) for at in (1, 2)))
    found = topped_up(asked, {1: (), 2: ()})
    assert [cut_of(found, at, "perle") for at in (1, 2)] == [[(8, 0)], [(4, 0)]]
