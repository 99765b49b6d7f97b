"""What holds of every balance, whatever the kit and its lots."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import floor

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from planning.engine.balance import Balance
from planning.engine.kit_sheet import BoundKit, balanced
from tests.planning.engine.hop_kits import ABSORB, ALPHAS, HOLD, KEEP, MOVE, kits

ANY = st.lists(st.sampled_from([ABSORB, HOLD, KEEP, MOVE]), min_size=1, max_size=5)
WEIGHED = st.lists(st.sampled_from([ABSORB, HOLD, KEEP]), min_size=1, max_size=5)
ABSORBED = ANY.map(lambda roles: [*roles[:4], ABSORB])
ONE_POUCH = st.lists(st.sampled_from([HOLD, KEEP]), max_size=4).map(lambda roles: [MOVE, *roles])
ONE_WEIGHT = st.tuples(st.sampled_from([ABSORB, HOLD]), st.integers(0, 4)).map(
    lambda drawn: [drawn[0], *[KEEP] * drawn[1]]
)


def weak_and_strong(kit: BoundKit, data) -> tuple[Balance, Balance]:
    """The kit with one of its lines from a weaker and from a stronger lot, all else the same."""
    place = data.draw(st.integers(0, len(kit.hop_lines) - 1))

    def at(alpha: float) -> Balance:
        lines = list(kit.hop_lines)
        lines[place] = replace(lines[place], alpha=alpha)
        return balanced(replace(kit, hop_lines=lines), {})

    weak, strong = sorted((data.draw(ALPHAS), data.draw(ALPHAS)))
    return at(weak), at(strong)


@given(kits(WEIGHED), st.data())
def test_more_alpha_never_needs_more_hops(kit, data):
    weak, strong = weak_and_strong(kit, data)

    for before, after in zip(weak.rows, strong.rows, strict=True):
        assert max(after.exact_mg, 0) <= max(before.exact_mg, 0) + 1e-6
        # several are rounded together, so one of them may take a step that another gives up
        assert after.after_mg <= before.after_mg + kit.resolution_mg


@given(kits(ONE_WEIGHT), st.data())
def test_more_alpha_never_packs_a_heavier_pouch(kit, data):
    weak, strong = weak_and_strong(kit, data)

    assert strong.rows[0].after_mg <= weak.rows[0].after_mg


@given(kits(ANY), st.data())
def test_more_alpha_never_needs_a_longer_boil(kit, data):
    weak, strong = weak_and_strong(kit, data)

    for before, after in zip(weak.rows, strong.rows, strict=True):
        if after.exact_minutes is not None:
            assert after.exact_minutes <= before.exact_minutes + 1e-6
            assert after.minutes_after <= before.minutes_after + 1


@given(kits(ABSORBED))
def test_where_something_absorbs_the_miss_is_at_most_half_a_step(kit):
    """Of the coarsest weight that moves; what is boiled to whole minutes costs nothing."""
    result = balanced(kit, {})
    assume(not result.limits and not last_step_is_missing(kit, result))

    steps = [
        kit.resolution_mg * line.ibu_per_mg for line in kit.hop_lines if line.role in (ABSORB, HOLD)
    ]
    assert abs(result.ibu_corrected - kit.target_ibu) <= max(steps) / 2 + 1e-8


@given(kits(ONE_POUCH))
def test_where_only_a_pouch_is_left_the_miss_is_at_most_half_a_minute_or_step(kit):
    result = balanced(kit, {})
    assume(not result.limits and not last_step_is_missing(kit, result))

    steps = [kit.resolution_mg * line.ibu_per_mg for line in kit.hop_lines if line.role is HOLD]
    pouch = kit.hop_lines[0]
    given_ibu = [pouch.reference_mg * pouch.ibu_per_mg_at(minute) for minute in pouch.minutes_table]
    minutes = [later - earlier for earlier, later in pairwise(given_ibu)]
    assert abs(result.ibu_corrected - kit.target_ibu) <= max([*steps, *minutes, 0]) / 2 + 1e-8


def last_step_is_missing(kit: BoundKit, result: Balance) -> bool:
    """Whether a weight lies between the last whole step and a limit that is no whole step."""
    return any(
        row.exact_mg > floor(kit.most * line.reference_mg / kit.resolution_mg) * kit.resolution_mg
        for row, line in zip(result.rows, kit.hop_lines, strict=True)
        if line.moves
    )


@given(kits(ANY))
def test_everything_stays_inside_its_limits_and_adds_up(kit):
    result = balanced(kit, {})

    for row, line in zip(result.rows, kit.hop_lines, strict=True):
        if line.moves:
            assert 0 <= row.after_mg <= kit.most * line.reference_mg + 1e-3
            assert row.after_mg % kit.resolution_mg == 0
        else:
            assert row.after_mg == line.reference_mg
        assert (row.minutes_after in line.minutes_table) == (line.role is MOVE)
    assert result.ibu_corrected == pytest.approx(sum(row.ibu_after for row in result.rows))
    assert sum(part.value for part in result.working.parts) == pytest.approx(result.ibu_corrected)
    assert {limit.line for limit in result.limits} <= {line.line for line in kit.hop_lines}
