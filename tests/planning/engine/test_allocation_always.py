"""What holds of every allocation, whatever the runs and the lots."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.aims import aims_of
from planning.engine.cutting import Stretch
from planning.engine.fewest_batches import fewest_batches
from planning.engine.horizon import kits_of
from planning.engine.improving import allocated
from planning.engine.recheck import faults
from planning.engine.serving import greedy, literal
from recipes.brewing.roles import HopRole
from tests.planning.engine.horizons import horizon, horizons, pack_line
from tests.planning.engine.make import DAY, GOLD, PERLE, hop


@settings(max_examples=60)
@given(horizons())
def test_never_worse_than_the_greedy_answer_and_never_unsound(asked):
    found = allocated(asked)

    assert found.aims.worth >= aims_of(asked, greedy(asked)).worth
    assert found.aims == aims_of(asked, found.answer)
    for answer in (found.answer, greedy(asked), literal(asked)):
        assert faults(asked, answer) == []
        assert_sound(asked, answer)


@settings(max_examples=60)
@given(horizons())
def test_no_answer_is_better_than_the_bounds_say(asked):
    found = allocated(asked)

    for answer in (found.answer, greedy(asked), literal(asked)):
        aims = aims_of(asked, answer)
        if aims.firm == found.aims.firm:  # fewer firm kits may leave room for more of others
            assert aims.kits <= found.most_kits
        assert fewest_batches(asked, answer) <= aims.batches
    assert found.fewest_batches <= found.aims.batches
    assert 0 <= found.gap < 1


ALPHAS = st.lists(st.floats(0.03, 0.08), min_size=1, max_size=3)
ROLES = st.tuples(*[st.sampled_from([HopRole.HOLD_WEIGHT, HopRole.HOLD_BITTERNESS])] * 2)


@settings(max_examples=60)
@given(alphas=st.tuples(ALPHAS, ALPHAS, ALPHAS), roles=ROLES, absorbing=st.booleans())
def test_no_lots_beside_a_lot_make_it_lighter_than_the_bound(alphas, roles, absorbing):
    """One weight that moves, or two or three; beside every set of lots that may be packed."""
    second = HopRole.ABSORB if absorbing else roles[0]
    lines = (
        GOLD,
        replace(PERLE, role=second),
        replace(PERLE, line="third", item="third", role=roles[1]),
    )
    lots = {
        item: [hop(10 * at + rank, 900, alpha=alpha) for rank, alpha in enumerate(held)]
        for at, (item, held) in enumerate(zip(("gold", "perle", "third"), alphas, strict=True))
    }
    line = pack_line(1, 9, lots, lines=lines)
    for chosen in product(*lots.values()):
        together = dict(zip(lots, chosen, strict=True))
        sheet = line.sheets.of(together)
        for item, lot in together.items() if not sheet.balance.limits else ():
            assert line.lightest(item, lot) <= sum(sheet.per_kit[item].values())


@settings(max_examples=15)
@given(horizons())
def test_the_same_question_has_the_same_answer(asked):
    first, again = allocated(asked), allocated(asked)

    assert first.aims == again.aims
    assert told(first.answer) == told(again.answer)


def told(answer):
    return {
        line: [
            (stretch.kits, {item: lot.lot for item, lot in stretch.lots.items()})
            for stretch in stretches
        ]
        for line, stretches in answer.items()
    }


@settings(max_examples=40)
@given(
    kits=st.lists(st.integers(1, 4), min_size=1, max_size=2),
    grams=st.lists(st.sampled_from([15, 30, 45, 75, 90]), min_size=1, max_size=2),
    late=st.booleans(),
)
def test_one_variety_is_given_as_well_as_any_way_would(kits, grams, late):
    lots = {"perle": [hop(at, held, alpha=0.04, last=at) for at, held in enumerate(grams)]}
    asked = horizon(
        *(
            pack_line(number, count, lots, day=number if late else 0, lines=(PERLE,), minimum=2)
            for number, count in enumerate(kits)
        )
    )

    found = allocated(asked)

    best = max(aims_of(asked, answer).worth for answer in every_answer(asked, grams))
    assert found.aims.worth == best


def every_answer(asked, grams):
    """Every way of packing kits of 15 g from the lots, each line from each lot in one batch."""
    lines = asked.lines
    kits = [range(line.kits + 1) for line in lines for _ in grams]
    for chosen in product(*kits):
        rows = [chosen[at * len(grams) : (at + 1) * len(grams)] for at in range(len(lines))]
        answer = {
            line.line: tuple(
                Stretch(kits=count, lots={"perle": lot})
                for lot, count in zip(line.lots["perle"], row, strict=True)
                if count
            )
            for line, row in zip(lines, rows, strict=True)
        }
        if not faults(asked, answer):
            yield answer


def assert_sound(asked, answer):
    """Reckoned apart from the engine: stock, days, and the kits that are wanted."""
    taken: Counter[int] = Counter()
    for line in asked.lines:
        stretches = answer[line.line]
        assert kits_of(stretches) <= line.kits
        for stretch in stretches:
            weights = line.sheets.of(stretch.lots).balance.weights
            for item, lot in stretch.lots.items():
                assert lot.first_day is None or lot.first_day <= line.on
                assert line.on <= lot.last_day
                each = sum(
                    weights[hop_line.line]
                    for hop_line in line.kit.hop_lines
                    if hop_line.item == item
                )
                taken[lot.lot] += stretch.kits * (each or 1)
    assert all(quantity <= asked.stock[lot] for lot, quantity in taken.items())
    assert min(line.on for line in asked.lines) >= DAY
