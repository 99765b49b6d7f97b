"""The chosen rounding against every other there is."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from math import ceil, floor

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planning.engine.kit_sheet import BoundKit, balanced
from planning.engine.rounding import Moving, rounded_weights
from tests.planning.engine.hop_kits import ABSORB, HOLD, KEEP, MOVE, kits

FEW = st.lists(st.sampled_from([ABSORB, HOLD, KEEP, MOVE]), min_size=1, max_size=4)
NOISE = 1e-8


@st.composite
def movings(draw):
    exact_mg = draw(st.integers(0, 40_000) | st.floats(0, 40_000))
    return Moving(
        exact_mg=exact_mg,
        most_mg=exact_mg + draw(st.integers(0, 500)),
        before_mg=draw(st.integers(0, 400)) * 100,
        ibu_per_mg=draw(st.sampled_from([0.0, 0.0008, 0.001, 0.001, 0.0025])),
    )


def order(weights: list[Moving], wanted_ibu: float, chosen: tuple[int, ...]):
    """Least miss, least change, the lighter, the one lighter in the earlier additions."""
    pairs = list(zip(chosen, weights, strict=True))
    miss = abs(sum(mg * weight.ibu_per_mg for mg, weight in pairs) - wanted_ibu)
    change = sum(abs(mg - weight.before_mg) for mg, weight in pairs)
    return round(miss, 9), change, sum(chosen), chosen


def on_the_resolution(weight: Moving, resolution_mg: int, reach: int) -> list[int]:
    """Every weight on the resolution inside the limits, so many steps to either side."""
    middle = floor(weight.exact_mg / resolution_mg)
    return [
        step * resolution_mg
        for step in range(max(middle - reach, 0), middle + reach + 2)
        if step * resolution_mg <= weight.most_mg + NOISE * resolution_mg
    ]


@given(
    weights=st.lists(movings(), max_size=3),
    resolution_mg=st.sampled_from([50, 100, 1000]),
    off=st.floats(-0.5, 0.5) | st.just(0.0),
)
def test_of_all_weights_less_than_a_step_off_none_is_better(weights, resolution_mg, off):
    wanted = sum(weight.exact_mg * weight.ibu_per_mg for weight in weights) + off
    near = [
        [
            mg
            for mg in on_the_resolution(weight, resolution_mg, 3)
            if abs(mg - weight.exact_mg) < resolution_mg * (1 - NOISE)
        ]
        for weight in weights
    ]

    chosen = rounded_weights(weights, wanted_ibu=wanted, resolution_mg=resolution_mg)

    best = min(product(*near), key=lambda tried: order(weights, wanted, tried))
    assert chosen.weights == best
    assert chosen.miss == order(weights, wanted, best)[0]


@given(weight=movings(), resolution_mg=st.sampled_from([50, 100, 1000]))
def test_a_single_weight_is_the_best_of_all_there_are(weight, resolution_mg):
    wanted = weight.exact_mg * weight.ibu_per_mg
    assume(weight.ibu_per_mg)

    chosen = rounded_weights([weight], wanted_ibu=wanted, resolution_mg=resolution_mg)

    ways = [(mg,) for mg in on_the_resolution(weight, resolution_mg, 400)]
    best = min(ways, key=lambda tried: order([weight], wanted, tried))
    assert chosen.weights == best


def test_of_equal_misses_and_changes_the_lighter_wins_over_the_earlier():
    # 0.30 IBU by 0.1 g of the first, or 0.20 by 0.1 g of either other: both miss 0.25 by 0.05
    strong = Moving(exact_mg=50, most_mg=1000, before_mg=50, ibu_per_mg=0.003)
    weak = Moving(exact_mg=50, most_mg=1000, before_mg=50, ibu_per_mg=0.001)

    chosen = rounded_weights([strong, weak, weak], wanted_ibu=0.25, resolution_mg=100)

    assert chosen.weights == (100, 0, 0)


@settings(max_examples=300)
@given(kits(FEW))
def test_of_all_floors_and_ceilings_of_weights_and_minutes_the_first_in_order_is_taken(kit):
    result = balanced(kit, {})

    ways = {way: way_order(kit, *way) for way in all_ways(kit, result)}

    taken = (
        tuple(row.after_mg for row in result.rows),
        tuple(row.minutes_after for row in result.rows),
    )
    assert taken in ways
    assert ways[taken] == min(ways.values())


def all_ways(kit: BoundKit, result) -> Iterator[tuple[tuple[int, ...], tuple[int | None, ...]]]:
    """Every pair of weights and minutes; what absorbs is worked out anew beside each minutes."""
    boiled = [
        [None] if row.exact_minutes is None else sorted(whole(row.exact_minutes))
        for row in result.rows
    ]
    for minutes in product(*boiled):
        weights = [
            [
                step * kit.resolution_mg
                for step in whole(exact / kit.resolution_mg)
                if step <= kit.most * line.reference_mg / kit.resolution_mg + NOISE
            ]
            if line.moves
            else [line.reference_mg]
            for line, exact in zip(kit.hop_lines, exact_weights(kit, minutes), strict=True)
        ]
        for chosen in product(*weights):
            yield chosen, minutes


def whole(number: float) -> set[int]:
    """The whole numbers either side, or the one that is meant."""
    near = round(number)
    return {near} if abs(number - near) < NOISE else {floor(number), ceil(number)}


def exact_weights(kit: BoundKit, minutes: tuple[int | None, ...]) -> list[float]:
    """The rules of balancing in their plainest form, held inside the limits."""
    lines = kit.hop_lines
    weights: dict[str, float] = {}
    left = kit.target_ibu
    for line, minute in zip(lines, minutes, strict=True):
        if line.role is ABSORB:
            continue
        weights[line.line] = line.reference_mg
        if line.role is HOLD:
            own = line.reference_mg * line.reference_alpha / (line.alpha * line.form_factor)
            weights[line.line] = min(own, kit.most * line.reference_mg)
        left -= weights[line.line] * line.ibu_per_mg_at(minute)
    whole_ibu = sum(line.reference_ibu for line in lines if line.role is ABSORB)
    for line in lines:
        if line.role is ABSORB:
            wanted = left * line.reference_ibu / whole_ibu / line.ibu_per_mg
            weights[line.line] = min(max(wanted, 0.0), kit.most * line.reference_mg)
    return [weights[line.line] for line in lines]


def way_order(kit: BoundKit, weights: tuple[int, ...], minutes: tuple[int | None, ...]):
    """Least miss, least change in grams, then in minutes, the lighter, the earlier ones lighter."""
    lines = kit.hop_lines
    moving = [at for at, line in enumerate(lines) if line.moves]
    timed = [at for at, line in enumerate(lines) if line.role is MOVE]
    ibu = sum(
        mg * line.ibu_per_mg_at(minute)
        for mg, minute, line in zip(weights, minutes, lines, strict=True)
    )
    grams = sum(
        abs(weights[at] - (kit.current_mg or {}).get(lines[at].line, lines[at].reference_mg))
        for at in moving
    )
    boil = sum(
        abs(
            (minutes[at] or 0)
            - (kit.current_minutes or {}).get(lines[at].line, lines[at].minutes or 0)
        )
        for at in timed
    )
    return (
        round(abs(ibu - kit.target_ibu), 9),
        grams,
        boil,
        sum(weights[at] for at in moving),
        tuple(weights[at] for at in moving),
        tuple(minutes[at] for at in timed),
    )
