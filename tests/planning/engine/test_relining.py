"""Lines cut anew from other lots, each from what the others leave."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planning.engine.cutting import Stretch
from planning.engine.recheck import faults
from planning.engine.relining import heaviest, recut
from tests.planning.engine.horizons import cut_of, horizon, pack_line
from tests.planning.engine.make import GOLD, PERLE, hop


@pytest.mark.parametrize(
    ("least", "first", "second"),
    [(1, [(7, 0), (3, 1)], [(5, 0), (5, 1)]), (4, [(6, 0), (4, 1)], [(6, 0), (4, 1)])],
)
def test_a_line_grows_into_what_is_left_over_and_not_into_what_the_next_one_is_given(
    least, first, second
):
    """15 g a kit: the old lot holds twelve kits, five for each of two lines, and two more."""
    lots = {"perle": [hop(0, 180, alpha=0.04, last=20), hop(1, 600, alpha=0.04, last=30)]}
    asked = horizon(
        *(pack_line(at, 10, lots, lines=(PERLE,), minimum=least) for at in (1, 2))
    )  # fmt: skip
    begun = {at: (Stretch(kits=10, lots={"perle": lots["perle"][1]}),) for at in (1, 2)}

    found = recut(asked, begun, "perle", {at: {0: 5, 1: 5} for at in (1, 2)})

    assert [cut_of(found, at, "perle") for at in (1, 2)] == [first, second]
    assert faults(asked, found) == []


def test_what_a_kit_takes_at_the_most_is_beside_the_weakest_lot_and_with_the_overage():
    """24 IBU of gold and 7.2 of perle, of which a lot gives 7.2 or 9: 20 g or 18.5 g of gold."""
    weak, strong = hop(1, 900, alpha=0.04), hop(2, 900, alpha=0.05)
    gold = hop(0, 900)
    line = pack_line(1, 10, {"gold": [gold], "perle": [weak, strong]}, overage={"gold": 0.1})
    beside = [Stretch(kits=5, lots={"gold": gold, "perle": lot}) for lot in (strong, weak)]

    assert heaviest(line, beside, "gold", gold) == pytest.approx(22_000)
    assert heaviest(line, beside[:1], "gold", gold) == pytest.approx(1.1 * 18_500)


def test_a_lot_too_weak_for_twice_the_reference_is_not_weighed():
    lines = (GOLD, replace(PERLE, ibu_per_gram=0.0))
    weak = hop(1, 900, alpha=0.02)
    line = pack_line(1, 10, {"gold": [hop(0, 900), weak], "perle": [hop(2, 900)]}, lines=lines)
    beside = [Stretch(kits=10, lots={"gold": hop(0, 900), "perle": hop(2, 900)})]

    assert heaviest(line, beside, "gold", weak) is None


def test_a_line_that_has_a_batch_under_the_minimum_can_still_be_given_other_lots():
    """Two of its ten kits are a batch already: with four of them it is better, and not refused."""
    lots = {"perle": [hop(0, 60, alpha=0.04, last=20), hop(1, 600, alpha=0.04, last=30)]}
    old, new = lots["perle"]
    asked = horizon(pack_line(1, 10, lots, lines=(PERLE,), minimum=6))
    begun = {
        1: (Stretch(kits=2, lots={"perle": old}), Stretch(kits=8, lots={"perle": new})),
    }

    assert cut_of(recut(asked, begun, "perle", {1: {0: 4, 1: 6}}), 1, "perle") == [(4, 0), (6, 1)]
    assert cut_of(recut(asked, begun, "perle", {1: {1: 10}}), 1, "perle") == [(10, 1)]
