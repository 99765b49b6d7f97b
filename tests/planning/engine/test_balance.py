"""A new lot moves the bittering weight and leaves the aroma alone."""

from __future__ import annotations

from dataclasses import replace

import pytest

from boxwort.figures import NO_BREAK
from boxwort.working import Working
from planning.engine.balance import HopLine, balance
from recipes.brewing.roles import HopRole

BITTERING = HopLine(
    line="60",
    name="Magnum at 60 min",
    role=HopRole.ABSORB,
    reference_mg=20_000,
    reference_alpha=0.05,
    ibu_per_gram=24.0,
    alpha=0.05,
)
AROMA = HopLine(
    line="15",
    name="Perle at 15 min",
    role=HopRole.HOLD_WEIGHT,
    reference_mg=15_000,
    reference_alpha=0.04,
    ibu_per_gram=12.0,
    alpha=0.04,
)
FIRST_WORT = replace(BITTERING, line="fw", name="First wort", role=HopRole.HOLD_BITTERNESS)


def target_of(*lines: HopLine) -> float:
    return sum(line.reference_ibu for line in lines)


def balanced(*lines: HopLine, **options):
    options = {"resolution_mg": 100, "target_ibu": target_of(*lines)} | options
    return balance(lines=lines, **options)


def test_reference_lots_leave_every_weight_alone():
    result = balanced(BITTERING, AROMA, FIRST_WORT)

    assert result.weights == {"60": 20_000, "15": 15_000, "fw": 20_000}
    assert result.ibu_corrected == pytest.approx(result.ibu_target)
    assert result.limits == ()


def test_bittering_takes_what_a_stronger_aroma_lot_leaves():
    result = balanced(BITTERING, replace(AROMA, alpha=0.06))

    # 31.2 - 15 g x 0.06 x 12 = 20.4 IBU are left, at 1.2 IBU a gram
    assert result.weights == {"60": 17_000, "15": 15_000}
    assert result.ibu_unchanged == pytest.approx(24.0 + 10.8)
    assert result.ibu_corrected == pytest.approx(31.2)


def test_held_bitterness_follows_its_own_lot_alone():
    lines = (replace(FIRST_WORT, alpha=0.04), replace(AROMA, alpha=0.05), BITTERING)

    result = balanced(*lines)

    assert result.rows[0].exact_mg == pytest.approx(25_000)
    assert result.weights["fw"] == 25_000
    assert result.ibu_corrected == pytest.approx(result.ibu_target, abs=0.06)


def test_several_that_absorb_share_by_their_reference_bitterness():
    small = replace(BITTERING, line="30", reference_mg=10_000)

    result = balanced(BITTERING, small, replace(AROMA, alpha=0.08))

    large_row, small_row, _ = result.rows
    assert large_row.exact_mg == pytest.approx(2 * small_row.exact_mg)


def test_today_is_what_stands_on_the_sheet():
    result = balanced(replace(BITTERING, alpha=0.06), AROMA, current_mg={"60": 18_000})

    row = result.rows[0]
    assert (row.before_mg, row.after_mg) == (18_000, 16_700)
    assert result.ibu_unchanged == pytest.approx(18 * 0.06 * 24 + 7.2)


def test_equal_misses_go_to_the_least_change_and_then_the_lighter():
    # 20.05 g on a step of 0.1 g: 20.0 and 20.1 miss by the same
    halfway = BITTERING.reference_ibu * 20.05 / 20

    up = balanced(BITTERING, target_ibu=halfway, current_mg={"60": 20_100})
    down = balanced(BITTERING, target_ibu=halfway, current_mg={"60": 20_000})
    even = balanced(BITTERING, target_ibu=halfway, current_mg={"60": 20_050})

    assert [result.weights["60"] for result in (up, down, even)] == [20_100, 20_000, 20_000]


def test_beyond_a_dozen_the_finest_steps_are_put_on_the_nearest():
    fine = [
        replace(FIRST_WORT, line=f"fine-{at}", reference_alpha=0.0537, ibu_per_gram=0.1)
        for at in range(3)
    ]
    coarse = [replace(BITTERING, line=str(at), alpha=0.0537) for at in range(12)]

    result = balanced(*fine, *coarse, resolution_mg=500)

    # 20 g x 5.37 / 5.0 = 21.48 g; a dozen coarse steps of 0.6 IBU then meet the target closely
    assert [result.weights[line.line] for line in fine] == [21_500] * 3
    assert result.ibu_corrected == pytest.approx(result.ibu_target, abs=0.5 * 0.0537 * 24 / 2)


def test_a_form_that_gives_less_needs_more_weight():
    result = balanced(replace(BITTERING, form_factor=0.9), replace(AROMA, form_factor=0.9))

    # the aroma keeps its 15 g and gives 6.48 IBU; 24.72 are left, at 1.08 IBU a gram
    assert result.weights == {"60": 22_900, "15": 15_000}
    assert result.rows[1].ibu_after == pytest.approx(0.9 * 7.2)
    assert result.ibu_corrected == pytest.approx(result.ibu_target, abs=0.054)


def test_held_bitterness_knows_the_form_too():
    cones = replace(FIRST_WORT, form_factor=0.8)

    assert balanced(cones, BITTERING).rows[0].exact_mg == pytest.approx(25_000)


def test_alpha_measured_by_different_methods_is_not_added_up_without_a_note():
    lines = (replace(BITTERING, alpha_method="HPLC"), replace(AROMA, alpha_method="conductometric"))

    (note,) = balanced(*lines).notes

    assert "HPLC: Magnum at 60 min; conductometric: Perle at 15 min" in note
    assert note in balanced(*lines).working.notes


@pytest.mark.parametrize(
    "aroma",
    [{"alpha_method": "HPLC"}, {"alpha_method": ""}, {"alpha_method": "IR", "ibu_per_gram": 0.0}],
)
def test_one_method_of_all_that_is_bitter_needs_no_note(aroma):
    assert balanced(replace(BITTERING, alpha_method="HPLC"), replace(AROMA, **aroma)).notes == ()


def test_float_noise_at_a_limit_is_no_limit():
    thirds = [replace(BITTERING, line=str(at), reference_alpha=0.1 + 0.01 * at) for at in range(7)]
    lines = [replace(line, alpha=line.reference_alpha) for line in thirds]

    assert balanced(*lines, most=1.0).limits == ()


def test_a_lot_too_weak_is_held_at_the_limit_and_named():
    result = balanced(replace(BITTERING, alpha=0.02, lot="FG-7"), AROMA)

    assert result.weights["60"] == 40_000
    (limit,) = result.limits
    assert (limit.line, limit.lot) == ("60", "FG-7")
    assert limit.what.replace(NO_BREAK, " ") == (
        "Magnum at 60 min would need 50.0 g at 2.0 % alpha acid, more than 2 times its "
        "reference of 20.0 g."
    )
    assert "more alpha acid" in limit.remedy


def test_nothing_is_left_beside_aroma_that_is_too_strong():
    result = balanced(BITTERING, replace(AROMA, alpha=0.19))

    assert result.weights["60"] == 0
    (limit,) = result.limits
    assert "nothing is left for Magnum at 60 min" in limit.what
    assert limit.what in " ".join(result.working.notes)


def test_working_adds_up_and_survives_storage():
    working = balanced(replace(BITTERING, alpha=0.061), AROMA).working

    assert sum(part.value for part in working.parts) == pytest.approx(working.value)
    assert Working.from_json(working.as_json()) == working


@pytest.mark.parametrize("alpha", [0.0, -0.01, 1.0, 5.0])
def test_alpha_that_is_no_share_is_refused(alpha):
    with pytest.raises(ValueError, match="Magnum at 60 min: an alpha acid of"):
        replace(BITTERING, alpha=alpha)


def test_addition_without_bitterness_cannot_absorb():
    with pytest.raises(ValueError, match="cannot absorb"):
        replace(BITTERING, ibu_per_gram=0.0)


def test_addition_without_a_weight_is_refused():
    with pytest.raises(ValueError, match="a weight above zero"):
        replace(AROMA, reference_mg=0)


def test_line_given_twice_is_refused():
    with pytest.raises(ValueError, match="each line given once"):
        balanced(BITTERING, BITTERING)


def test_form_factor_of_nothing_is_refused():
    with pytest.raises(ValueError, match="form factor is above zero"):
        replace(AROMA, form_factor=0.0)
