"""A run line is cut into few batches, from old lots, and no lot is overdrawn."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations, permutations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.allotment import allot
from planning.engine.balance import HopLine
from planning.engine.kit_sheet import BoundKit, BoundLot, KitSheets
from recipes.brewing.roles import HopRole

DAY = date(2025, 6, 2)
GOLD = HopLine(
    line="gold-60",
    item="gold",
    name="Fern Gold at 60 min",
    role=HopRole.ABSORB,
    reference_mg=20_000,
    reference_alpha=0.05,
    ibu_per_gram=24.0,
    alpha=0.05,
)
FUGGLE = HopLine(
    line="fuggle-15",
    item="fuggle",
    name="Hollow Fuggle at 15 min",
    role=HopRole.HOLD_WEIGHT,
    reference_mg=15_000,
    reference_alpha=0.04,
    ibu_per_gram=12.0,
    alpha=0.04,
)
LATE_GOLD = replace(
    GOLD, line="gold-0", role=HopRole.HOLD_WEIGHT, reference_mg=10_000, ibu_per_gram=0.0
)


def hop(number: int, grams: int, *, alpha: float = 0.05, last: int | None = None) -> BoundLot:
    return BoundLot(
        lot=number,
        code=f"H-{number}",
        available=grams * 1000,
        alpha=alpha,
        last_day=None if last is None else DAY + timedelta(last),
    )


def yeast(number: int, packs: int, *, per_kit: int | None = None, last: int | None = None):
    return BoundLot(
        lot=number,
        code=f"Y-{number}",
        available=packs,
        per_kit=per_kit,
        last_day=None if last is None else DAY + timedelta(last),
    )


def allotted(kits, lots, *, lines=(GOLD, FUGGLE), bound=None, **options):
    options = {"minimum_kits": 6, "resolution_mg": 100, "on": DAY, **options}
    return allot(
        kits=kits,
        hop_lines=lines,
        bound_items=bound or {},
        lots_by_item=lots,
        target_ibu=sum(line.reference_ibu for line in lines),
        **options,
    )


def cuts(allotment, *items):
    return [(batch.kits, *(batch.lots[item] for item in items)) for batch in allotment.batches]


def test_oldest_single_lot_that_holds_the_run_is_one_batch():
    gold = [hop(1, 150, last=10), hop(2, 500, last=20), hop(3, 900, last=30)]

    result = allotted(20, {"gold": gold, "fuggle": [hop(9, 900, alpha=0.04)]})

    assert cuts(result, "gold") == [(20, 2)]
    assert result.short == ()


def test_oldest_pair_covers_what_no_single_lot_holds():
    gold = [hop(1, 90, last=5), hop(2, 300, last=10), hop(3, 200, last=20), hop(4, 300, last=30)]

    result = allotted(25, {"gold": gold, "fuggle": [hop(9, 900, alpha=0.04)]})

    # lots 1 and 2 hold 4 + 15 kits, 1 and 4 no more; 2 and 3 hold 15 + 10
    assert cuts(result, "gold") == [(15, 2), (10, 3)]


def test_lot_that_holds_less_than_a_minimum_is_passed_over():
    gold = [hop(1, 90, last=5), hop(2, 300, last=10), hop(3, 200, last=20)]

    result = allotted(18, {"gold": gold, "fuggle": [hop(9, 900, alpha=0.04)]})

    # lots 1 and 2 would do, but lot 1 holds only four kits
    assert cuts(result, "gold") == [(12, 2), (6, 3)]


def test_younger_lot_is_taken_where_it_spares_another_variety_a_change():
    gold = [hop(1, 370)]
    fuggle = [hop(8, 900, alpha=0.04, last=10), hop(9, 900, alpha=0.05, last=20)]

    result = allotted(20, {"gold": gold, "fuggle": fuggle})

    # beside lot 8 a kit takes 20.0 g of Fern Gold, beside lot 9 only 18.5 g
    assert cuts(result, "gold", "fuggle") == [(20, 1, 9)]


def test_older_lot_that_holds_the_run_beside_a_strong_one_is_not_overlooked():
    gold = [hop(1, 370, last=10), hop(2, 900, last=20)]

    result = allotted(20, {"gold": gold, "fuggle": [hop(9, 900, alpha=0.05)]})

    assert cuts(result, "gold") == [(20, 1)]


def test_each_batch_is_balanced_on_its_own_lots():
    gold = [hop(1, 300, last=10), hop(2, 300, alpha=0.06, last=20)]

    result = allotted(30, {"gold": gold, "fuggle": [hop(9, 900, alpha=0.05)]})

    # 31.2 - 15 g x 0.05 x 12 = 22.2 IBU: 18.5 g at 5 %, 15.4 g at 6 %
    weights = [batch.weights["gold-60"] for batch in result.batches]
    assert weights == [18_500, 15_400]
    assert [batch.kits for batch in result.batches] == [16, 14]


def test_change_points_line_up():
    gold = [hop(1, 800, last=10), hop(2, 800, last=20)]
    fuggle = [hop(8, 450, alpha=0.04, last=10), hop(9, 750, alpha=0.04, last=20)]

    result = allotted(60, {"gold": gold, "fuggle": fuggle})

    # Gold may change at 20 to 40 kits and Fuggle at 10 to 30: both change at 30
    assert cuts(result, "gold", "fuggle") == [(30, 1, 8), (30, 2, 9)]


def test_last_batch_is_filled_up_to_the_minimum():
    gold = [hop(1, 400, last=10), hop(2, 400, last=20)]

    result = allotted(22, {"gold": gold, "fuggle": [hop(9, 900, alpha=0.04)]})

    assert cuts(result, "gold") == [(16, 1), (6, 2)]


def test_change_comes_early_where_another_lot_would_end_soon_after():
    gold = [hop(1, 800, last=10), hop(2, 800, last=20)]
    fuggle = [hop(8, 660, alpha=0.04, last=10), hop(9, 270, alpha=0.04, last=20)]

    result = allotted(60, {"gold": gold, "fuggle": fuggle})

    # Gold ends at 40 and Fuggle at 44: four kits would be too few for a batch
    assert cuts(result, "gold", "fuggle") == [(38, 1, 8), (6, 2, 8), (16, 2, 9)]


def test_minimum_gives_way_before_kits_are_lost():
    gold = [hop(1, 200, last=10), hop(2, 200, last=20)]

    result = allotted(11, {"gold": gold, "fuggle": [hop(9, 900, alpha=0.04)]})

    assert cuts(result, "gold") == [(10, 1), (1, 2)]
    assert (result.kits, result.minimum_kits, result.short) == (11, 1, ())


def test_run_smaller_than_the_minimum_is_one_batch():
    lots = {"gold": [hop(1, 900)], "fuggle": [hop(9, 900, alpha=0.04)]}

    assert cuts(allotted(3, lots), "gold") == [(3, 1)]


def test_one_hop_on_two_lines_is_drawn_from_one_lot():
    result = allotted(20, {"gold": [hop(1, 599), hop(2, 600)]}, lines=(GOLD, LATE_GOLD))

    (batch,) = result.batches
    draws = [(draw.line, draw.lot, draw.per_kit, draw.quantity) for draw in batch.draws]
    assert draws == [("gold-60", 2, 20_000, 400_000), ("gold-0", 2, 10_000, 200_000)]
    assert result.taken == {2: 600_000}


def test_overage_is_reserved_with_the_kits():
    lots = {"gold": [hop(1, 400)], "fuggle": [hop(9, 900, alpha=0.04)]}

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
    lots = {"gold": [hop(1, 500)], "fuggle": [hop(9, 900, alpha=0.04)]}

    result = allotted(40, lots)

    (short,) = result.short
    assert (short.item, short.needed, short.available) == ("gold", 800_000, 500_000)
    assert (short.short, short.kits_possible, result.kits) == (300_000, 25, 25)


def test_minimum_is_kept_among_the_kits_that_are_possible():
    lots = {"gold": [hop(1, 500)], "fuggle": [hop(9, 900, alpha=0.04)]}

    result = allotted(27, lots)

    assert (cuts(result, "gold"), result.minimum_kits) == ([(25, 1)], 6)


def test_item_is_named_even_where_it_reaches_beside_the_oldest_lots():
    gold = [hop(1, 600)]
    fuggle = [hop(8, 310, alpha=0.09, last=10), hop(9, 470, alpha=0.04, last=20)]

    result = allotted(46, {"gold": gold, "fuggle": fuggle})

    # beside strong lot 8 it would hold 46 kits; lot 8 holds only twenty
    assert result.kits < 46
    assert [(row.item, row.kits_possible) for row in result.short] == [("gold", result.kits)]


def test_every_short_item_is_named_and_not_only_the_first():
    lots = {"gold": [hop(1, 500)], "fuggle": [hop(9, 300, alpha=0.04)]}

    result = allotted(40, lots)

    assert {row.item: row.kits_possible for row in result.short} == {"gold": 25, "fuggle": 20}
    assert result.kits == 20


def test_item_without_a_usable_lot_stops_the_run():
    lots = {"gold": [hop(1, 900, last=-1)], "fuggle": [hop(9, 900, alpha=0.04)]}

    result = allotted(10, lots)

    (short,) = result.short
    assert (short.item, short.short, short.kits_possible) == ("gold", 200_000, 0)
    assert result.batches == ()


def test_lot_that_breaks_a_limit_is_passed_over_for_a_younger_one():
    gold = [hop(1, 900, alpha=0.02, last=10), hop(2, 900, last=20)]

    result = allotted(20, {"gold": gold, "fuggle": [hop(9, 900, alpha=0.04)]})

    assert cuts(result, "gold") == [(20, 2)]


def test_lots_that_would_push_another_hop_past_its_limit_are_not_packed():
    fuggle = [hop(8, 150, alpha=0.04, last=10), hop(9, 900, alpha=0.02, last=20)]

    gold = [hop(1, 900, alpha=0.02, last=10), hop(2, 900, last=20)]

    result = allotted(20, {"gold": gold, "fuggle": fuggle}, most=1.1)

    # beside lot 9 a kit would take 23.0 g of lot 2, above 22 g
    assert cuts(result, "gold", "fuggle") == [(10, 2, 8)]
    assert [row.item for row in result.short] == ["fuggle"]


def test_only_lots_beyond_the_limit_are_a_shortage_that_says_why():
    lots = {"gold": [hop(1, 2_000, alpha=0.02)], "fuggle": [hop(9, 900, alpha=0.04)]}

    result = allotted(20, lots)

    assert [(row.item, row.kits_possible) for row in result.short] == [("gold", 0)]
    assert [limit.lot for limit in result.limits] == ["H-1"]


def test_hop_lot_without_alpha_is_refused():
    with pytest.raises(ValueError, match="lot Y-1 has no alpha acid"):
        allotted(10, {"gold": [yeast(1, 900_000)], "fuggle": [hop(9, 900)]})


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


GOLD_LOTS = st.lists(
    st.tuples(
        st.integers(0, 900), st.sampled_from([0.03, 0.045, 0.05, 0.062]), st.integers(-2, 40)
    ),
    max_size=4,
)
FUGGLE_LOTS = st.lists(
    st.tuples(
        st.integers(0, 600), st.sampled_from([0.035, 0.04, 0.055, 0.09]), st.integers(-2, 40)
    ),
    max_size=4,
)
YEAST_LOTS = st.lists(
    st.tuples(st.integers(0, 60), st.sampled_from([None, 2, 3]), st.integers(-2, 40)), max_size=3
)


def stocked(gold, fuggle, ale):
    return {
        "gold": [hop(at, g, alpha=a, last=d) for at, (g, a, d) in enumerate(gold)],
        "fuggle": [hop(10 + at, g, alpha=a, last=d) for at, (g, a, d) in enumerate(fuggle)],
        "ale": [yeast(20 + at, n, per_kit=p, last=d) for at, (n, p, d) in enumerate(ale)],
    }


@settings(deadline=None)
@given(
    kits=st.integers(1, 60),
    gold=GOLD_LOTS,
    fuggle=FUGGLE_LOTS,
    ale=YEAST_LOTS,
    minimum_kits=st.integers(1, 10),
    overage=st.sampled_from([0, 15]),
)
def test_every_allotment_is_valid(kits, gold, fuggle, ale, minimum_kits, overage):
    lots = stocked(gold, fuggle, ale)
    lines = (GOLD, FUGGLE, LATE_GOLD)

    result = allotted(
        kits,
        lots,
        lines=lines,
        bound={"ale": 1},
        minimum_kits=minimum_kits,
        overage={"gold": overage / 1000},
    )

    by_id = {lot.lot: lot for held in lots.values() for lot in held}
    taken: Counter[int] = Counter()
    for batch in result.batches:
        assert batch.kits >= min(result.minimum_kits, kits)
        assert batch.balance.limits == ()
        for draw in batch.draws:
            lot = by_id[draw.lot]
            assert lot.usable(DAY)
            assert draw.lot == batch.lots[draw.item]
            assert draw.per_kit == batch.weights.get(draw.line, lot.per_kit or 1)
            extra = draw.quantity - batch.kits * draw.per_kit
            thousandths = overage if draw.item == "gold" else 0
            assert 1000 * extra >= thousandths * batch.kits * draw.per_kit
            taken[draw.lot] += draw.quantity
    assert all(quantity <= by_id[lot].available for lot, quantity in taken.items())
    assert taken == Counter(result.taken)
    assert (result.kits == kits) == (result.short == ())
    assert result.kits <= kits
    assert result.minimum_kits in {1, min(minimum_kits, kits, max(result.kits, 1))}


@settings(deadline=None, max_examples=60)
@given(kits=st.integers(1, 40), gold=GOLD_LOTS, fuggle=FUGGLE_LOTS, ale=YEAST_LOTS)
def test_one_batch_is_made_wherever_one_is_possible(kits, gold, fuggle, ale):
    lots = stocked(gold, fuggle, ale)
    sheets = KitSheets(kit_of(GOLD, FUGGLE, bound={"ale": 1}))
    possible = any(holds(sheets, chosen, kits) for chosen in single_lots(lots))

    result = allotted(kits, lots, bound={"ale": 1})

    assert (len(result.batches) == 1 and result.kits == kits) == possible


@settings(deadline=None, max_examples=60, derandomize=True)
@given(
    kits=st.integers(6, 14),
    gold=st.lists(st.integers(40, 260), min_size=1, max_size=3),
    fuggle=st.lists(st.integers(40, 200), min_size=1, max_size=3),
)
def test_few_batches_beside_every_possible_way_of_cutting(kits, gold, fuggle):
    lots = {
        "gold": [hop(at, grams, last=at) for at, grams in enumerate(gold)],
        "fuggle": [hop(10 + at, g, alpha=0.04, last=at) for at, g in enumerate(fuggle)],
    }

    result = allotted(kits, lots, minimum_kits=1)

    # the reference lots give every batch the same weights, so that kits can be counted
    held = [[lot.available // each for lot in lots[item]] for item, each in KIT_MG.items()]
    best = fewest_batches(kits, held)
    if best is None:
        assert result.kits == min(kits, *(sum(kits_held) for kits_held in held))
    else:
        assert result.kits == kits
        assert best <= len(result.batches) <= best + 1


KIT_MG = {"gold": 20_000, "fuggle": 15_000}


def kit_of(*lines, bound):
    return BoundKit(
        target_ibu=sum(line.reference_ibu for line in lines),
        hop_lines=lines,
        bound_items=bound,
        resolution_mg=100,
    )


def single_lots(lots):
    usable = {item: [lot for lot in held if lot.usable(DAY)] for item, held in lots.items()}
    for chosen in product(*usable.values()):
        yield dict(zip(usable, chosen, strict=True))


def holds(sheets, lots, kits):
    sheet = sheets.of(lots)
    return not sheet.balance.limits and all(
        sheet.needed(item, kits) <= lot.available for item, lot in lots.items()
    )


def fewest_batches(kits, held):
    """Try every order of lots of each item and count the joint stretches; None: not enough."""
    fewest = None
    for orders in product(*(change_points(kits, lots) for lots in held)):
        batches = len(set().union(*orders)) + 1
        fewest = batches if fewest is None else min(fewest, batches)
    return fewest


def change_points(kits, lots):
    """Every set of kits at which one item can change lot."""
    found = set()
    for size in range(1, len(lots) + 1):
        for order in permutations(lots, size):
            for points in combinations(range(1, kits), size - 1):
                ends = (0, *points, kits)
                if all(b - a <= can for a, b, can in zip(ends, ends[1:], order, strict=False)):
                    found.add(points)
    return found
