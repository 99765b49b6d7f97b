"""A run line is cut into few batches, from old lots, and no lot is overdrawn."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.planning.engine.make import GOLD, LATE_GOLD, allotted, cuts, hop, yeast


def test_oldest_single_lot_that_holds_the_run_is_one_batch():
    gold = [hop(1, 150, last=10), hop(2, 500, last=20), hop(3, 900, last=30)]

    result = allotted(20, {"gold": gold, "perle": [hop(9, 900, alpha=0.04)]})

    assert cuts(result, "gold") == [(20, 2)]
    assert result.short == ()


def test_oldest_pair_covers_what_no_single_lot_holds():
    gold = [hop(1, 90, last=5), hop(2, 300, last=10), hop(3, 200, last=20), hop(4, 300, last=30)]

    result = allotted(25, {"gold": gold, "perle": [hop(9, 900, alpha=0.04)]})

    # lots 1 and 2 hold 4 + 15 kits, 1 and 4 no more; 2 and 3 hold 15 + 10
    assert cuts(result, "gold") == [(15, 2), (10, 3)]


def test_lot_that_holds_less_than_a_minimum_is_passed_over():
    gold = [hop(1, 90, last=5), hop(2, 300, last=10), hop(3, 200, last=20)]

    result = allotted(18, {"gold": gold, "perle": [hop(9, 900, alpha=0.04)]})

    # lots 1 and 2 would do, but lot 1 holds only four kits
    assert cuts(result, "gold") == [(12, 2), (6, 3)]


def test_younger_lot_is_taken_where_it_spares_another_variety_a_change():
    gold = [hop(1, 370)]
    perle = [hop(8, 900, alpha=0.04, last=10), hop(9, 900, alpha=0.05, last=20)]

    result = allotted(20, {"gold": gold, "perle": perle})

    # beside lot 8 a kit takes 20.0 g of Magnum, beside lot 9 only 18.5 g
    assert cuts(result, "gold", "perle") == [(20, 1, 9)]


def test_older_lot_that_holds_the_run_beside_a_strong_one_is_not_overlooked():
    gold = [hop(1, 370, last=10), hop(2, 900, last=20)]

    result = allotted(20, {"gold": gold, "perle": [hop(9, 900, alpha=0.05)]})

    assert cuts(result, "gold") == [(20, 1)]


def test_each_batch_is_balanced_on_its_own_lots():
    gold = [hop(1, 300, last=10), hop(2, 300, alpha=0.06, last=20)]

    result = allotted(30, {"gold": gold, "perle": [hop(9, 900, alpha=0.05)]})

    # 31.2 - 15 g x 0.05 x 12 = 22.2 IBU: 18.5 g at 5 %, 15.4 g at 6 %
    weights = [batch.weights["gold-60"] for batch in result.batches]
    assert weights == [18_500, 15_400]
    assert [batch.kits for batch in result.batches] == [16, 14]


def test_change_points_line_up():
    gold = [hop(1, 800, last=10), hop(2, 800, last=20)]
    perle = [hop(8, 450, alpha=0.04, last=10), hop(9, 750, alpha=0.04, last=20)]

    result = allotted(60, {"gold": gold, "perle": perle})

    # Gold may change at 20 to 40 kits and Perle at 10 to 30: both change at 30
    assert cuts(result, "gold", "perle") == [(30, 1, 8), (30, 2, 9)]


def test_last_batch_is_filled_up_to_the_minimum():
    gold = [hop(1, 400, last=10), hop(2, 400, last=20)]

    result = allotted(22, {"gold": gold, "perle": [hop(9, 900, alpha=0.04)]})

    assert cuts(result, "gold") == [(16, 1), (6, 2)]


def test_change_comes_early_where_another_lot_would_end_soon_after():
    gold = [hop(1, 800, last=10), hop(2, 800, last=20)]
    perle = [hop(8, 660, alpha=0.04, last=10), hop(9, 270, alpha=0.04, last=20)]

    result = allotted(60, {"gold": gold, "perle": perle})

    # Gold ends at 40 and Perle at 44: four kits would be too few for a batch
    assert cuts(result, "gold", "perle") == [(38, 1, 8), (6, 2, 8), (16, 2, 9)]


def test_minimum_gives_way_before_kits_are_lost():
    gold = [hop(1, 200, last=10), hop(2, 200, last=20)]

    result = allotted(11, {"gold": gold, "perle": [hop(9, 900, alpha=0.04)]})

    assert cuts(result, "gold") == [(10, 1), (1, 2)]
    assert (result.kits, result.minimum_kits, result.short) == (11, 1, ())


def test_run_smaller_than_the_minimum_is_one_batch():
    lots = {"gold": [hop(1, 900)], "perle": [hop(9, 900, alpha=0.04)]}

    assert cuts(allotted(3, lots), "gold") == [(3, 1)]


def test_one_hop_on_two_lines_is_drawn_from_one_lot():
    result = allotted(20, {"gold": [hop(1, 599), hop(2, 600)]}, lines=(GOLD, LATE_GOLD))

    (batch,) = result.batches
    draws = [(draw.line, draw.lot, draw.per_kit, draw.quantity) for draw in batch.draws]
    assert draws == [("gold-60", 2, 20_000, 400_000), ("gold-0", 2, 10_000, 200_000)]
    assert result.taken == {2: 600_000}


def test_overage_is_reserved_with_the_kits():
    lots = {"gold": [hop(1, 400)], "perle": [hop(9, 900, alpha=0.04)]}

    result = allotted(20, lots, overage={"gold": 0.02})

    assert result.kits == 19
    assert result.taken[1] == 387_600


def test_older_yeast_serves_with_more_packs():
    lots = {"gold": [hop(1, 900)], "ale": [yeast(5, 40, per_kit=2, last=9), yeast(6, 40, last=60)]}

    result = allotted(20, lots, lines=(GOLD,), bound={"ale": 1})

    (batch,) = result.batches
    (draw,) = (draw for draw in batch.draws if draw.item == "ale")
    assert (draw.lot, draw.per_kit, draw.quantity) == (5, 2, 40)


def test_kit_without_hops_or_packed_yeast_is_one_batch():
    result = allotted(40, {}, lines=())

    assert [batch.kits for batch in result.batches] == [40]


def test_shortage_names_the_item_and_the_kits_that_are_possible():
    lots = {"gold": [hop(1, 500)], "perle": [hop(9, 900, alpha=0.04)]}

    result = allotted(40, lots)

    (short,) = result.short
    assert (short.item, short.needed, short.available) == ("gold", 800_000, 500_000)
    assert (short.short, short.kits_possible, result.kits) == (300_000, 25, 25)


def test_minimum_is_kept_among_the_kits_that_are_possible():
    lots = {"gold": [hop(1, 500)], "perle": [hop(9, 900, alpha=0.04)]}

    result = allotted(27, lots)

    assert (cuts(result, "gold"), result.minimum_kits) == ([(25, 1)], 6)


def test_item_is_named_even_where_it_reaches_beside_the_oldest_lots():
    gold = [hop(1, 600)]
    perle = [hop(8, 310, alpha=0.09, last=10), hop(9, 470, alpha=0.04, last=20)]

    result = allotted(46, {"gold": gold, "perle": perle})

    # beside strong lot 8 it would hold 46 kits; lot 8 holds only twenty
    assert result.kits < 46
    assert [(row.item, row.kits_possible) for row in result.short] == [("gold", result.kits)]


def test_every_short_item_is_named_and_not_only_the_first():
    lots = {"gold": [hop(1, 500)], "perle": [hop(9, 300, alpha=0.04)]}

    result = allotted(40, lots)

    assert {row.item: row.kits_possible for row in result.short} == {"gold": 25, "perle": 20}
    assert result.kits == 20


def test_item_without_a_usable_lot_stops_the_run():
    lots = {"gold": [hop(1, 900, last=-1)], "perle": [hop(9, 900, alpha=0.04)]}

    result = allotted(10, lots)

    (short,) = result.short
    assert (short.item, short.short, short.kits_possible) == ("gold", 200_000, 0)
    assert result.batches == ()


def test_lot_that_breaks_a_limit_is_passed_over_for_a_younger_one():
    gold = [hop(1, 900, alpha=0.02, last=10), hop(2, 900, last=20)]

    result = allotted(20, {"gold": gold, "perle": [hop(9, 900, alpha=0.04)]})

    assert cuts(result, "gold") == [(20, 2)]


def test_lots_that_would_push_another_hop_past_its_limit_are_not_packed():
    perle = [hop(8, 150, alpha=0.04, last=10), hop(9, 900, alpha=0.02, last=20)]

    gold = [hop(1, 900, alpha=0.02, last=10), hop(2, 900, last=20)]

    result = allotted(20, {"gold": gold, "perle": perle}, most=1.1)

    # beside lot 9 a kit would take 23.0 g of lot 2, above 22 g
    assert cuts(result, "gold", "perle") == [(10, 2, 8)]
    assert [row.item for row in result.short] == ["perle"]


def test_only_lots_beyond_the_limit_are_a_shortage_that_says_why():
    lots = {"gold": [hop(1, 2_000, alpha=0.02)], "perle": [hop(9, 900, alpha=0.04)]}

    result = allotted(20, lots)

    assert [(row.item, row.kits_possible) for row in result.short] == [("gold", 0)]
    assert [limit.lot for limit in result.limits] == ["H-1"]


def test_hop_lot_without_alpha_is_refused():
    with pytest.raises(ValueError, match="lot Y-1 has no alpha acid"):
        allotted(10, {"gold": [yeast(1, 900_000)], "perle": [hop(9, 900)]})


@pytest.mark.parametrize(
    ("kits", "options"),
    [(0, {}), (5, {"minimum_kits": 0}), (5, {"bound": {"ale": 0}})],
)
def test_nothing_to_allot_is_refused(kits, options):
    with pytest.raises(ValueError, match="at least one"):
        allotted(kits, {}, **options)


def test_hop_line_without_an_item_is_refused():
    with pytest.raises(ValueError, match="the item it is weighed from"):
        allotted(5, {}, lines=(replace(GOLD, item=""),))
