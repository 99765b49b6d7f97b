"""What holds of every allotment, whatever the lots: valid, whole where it can be, few batches."""

from __future__ import annotations

from collections import Counter
from itertools import combinations, permutations, product

from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.kit_sheet import BoundKit, KitSheets
from tests.planning.engine.make import DAY, GOLD, LATE_GOLD, PERLE, allotted, hop, yeast

GOLD_LOTS = st.lists(
    st.tuples(
        st.integers(0, 900), st.sampled_from([0.03, 0.045, 0.05, 0.062]), st.integers(-2, 40)
    ),
    max_size=4,
)
PERLE_LOTS = st.lists(
    st.tuples(
        st.integers(0, 600), st.sampled_from([0.035, 0.04, 0.055, 0.09]), st.integers(-2, 40)
    ),
    max_size=4,
)
YEAST_LOTS = st.lists(
    st.tuples(st.integers(0, 60), st.sampled_from([None, 2, 3]), st.integers(-2, 40)), max_size=3
)


def stocked(gold, perle, ale):
    return {
        "gold": [hop(at, g, alpha=a, last=d) for at, (g, a, d) in enumerate(gold)],
        "perle": [hop(10 + at, g, alpha=a, last=d) for at, (g, a, d) in enumerate(perle)],
        "ale": [yeast(20 + at, n, per_kit=p, last=d) for at, (n, p, d) in enumerate(ale)],
    }


@given(
    kits=st.integers(1, 60),
    gold=GOLD_LOTS,
    perle=PERLE_LOTS,
    ale=YEAST_LOTS,
    minimum_kits=st.integers(1, 10),
    overage=st.sampled_from([0, 15]),
)
def test_every_allotment_is_valid(kits, gold, perle, ale, minimum_kits, overage):
    lots = stocked(gold, perle, ale)
    lines = (GOLD, PERLE, LATE_GOLD)

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


@settings(max_examples=60)
@given(kits=st.integers(1, 40), gold=GOLD_LOTS, perle=PERLE_LOTS, ale=YEAST_LOTS)
def test_one_batch_is_made_wherever_one_is_possible(kits, gold, perle, ale):
    lots = stocked(gold, perle, ale)
    sheets = KitSheets(kit_of(GOLD, PERLE, bound={"ale": 1}))
    possible = any(holds(sheets, chosen, kits) for chosen in single_lots(lots))

    result = allotted(kits, lots, bound={"ale": 1})

    assert (len(result.batches) == 1 and result.kits == kits) == possible


@settings(max_examples=60, derandomize=True)
@given(
    kits=st.integers(6, 14),
    gold=st.lists(st.integers(40, 260), min_size=1, max_size=3),
    perle=st.lists(st.integers(40, 200), min_size=1, max_size=3),
)
def test_few_batches_beside_every_possible_way_of_cutting(kits, gold, perle):
    lots = {
        "gold": [hop(at, grams, last=at) for at, grams in enumerate(gold)],
        "perle": [hop(10 + at, g, alpha=0.04, last=at) for at, g in enumerate(perle)],
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


KIT_MG = {"gold": 20_000, "perle": 15_000}


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
