"""A pouch of fixed weight meets its bitterness by boiling longer or shorter."""

from __future__ import annotations

from dataclasses import replace

import pytest

from boxwort.figures import NO_BREAK
from planning.engine.balance import HopLine, balance
from planning.engine.moved_time import moved_time
from recipes.brewing.roles import HopRole
from tests.planning.engine.hop_kits import pouch
from tests.planning.engine.make import GOLD, PERLE

POUCH = pouch(45, 30, 75)
BITTERING = replace(GOLD, name="Magnum at 60 min")
HELD = replace(GOLD, line="fw", name="First wort", role=HopRole.HOLD_BITTERNESS)


def balanced(*lines: HopLine, **options):
    options = {"target_ibu": sum(line.reference_ibu for line in lines)} | options
    return balance(lines=lines, resolution_mg=100, **options)


def test_a_stronger_lot_boils_shorter_and_keeps_its_grams():
    result = balanced(replace(POUCH, alpha=0.056), PERLE)

    row = result.rows[0]
    assert (row.before_mg, row.after_mg) == (28_000, 28_000)
    assert (row.minutes_before, row.minutes_after) == (45, 34)
    assert result.minutes == {"pouch-45": 34}
    assert result.ibu_unchanged == pytest.approx(1.12 * POUCH.reference_ibu + 7.2)
    assert result.ibu_corrected == pytest.approx(result.ibu_target, abs=0.1)
    assert result.rows[1].minutes_after is None


def test_a_weaker_lot_boils_longer():
    # 1 - e^(-0.04 t) = (1 - e^(-1.8)) x 5.0 / 4.7, t = 54.7
    assert balanced(replace(POUCH, alpha=0.047)).minutes["pouch-45"] == 55


def test_the_reference_lot_changes_nothing():
    result = balanced(POUCH, pouch(15, 10, 20), PERLE)

    assert result.minutes == {"pouch-45": 45, "pouch-15": 15}
    assert result.ibu_corrected == pytest.approx(result.ibu_target)
    assert (result.limits, result.notes) == ((), ())


def test_where_nothing_absorbs_pouches_take_what_is_left_in_proportion():
    late = pouch(15, 5, 30)
    target = 0.9 * (POUCH.reference_ibu + late.reference_ibu) + PERLE.reference_ibu

    rows = balanced(POUCH, late, PERLE, target_ibu=target).rows

    for row, line in zip(rows[:2], (POUCH, late), strict=True):
        table = line.minutes_table
        below = int(row.exact_minutes)
        between = table[below] + (row.exact_minutes - below) * (table[below + 1] - table[below])
        assert between == pytest.approx(0.9 * line.ibu_per_gram)


def test_beside_what_absorbs_a_pouch_keeps_its_own_bitterness():
    strong = replace(POUCH, alpha=0.056)

    result = balanced(strong, BITTERING, replace(PERLE, alpha=0.06))

    assert result.minutes == {"pouch-45": 34}
    # 34 min give 14.784 of 14.822 IBU, the aroma 10.8 of 7.2: what absorbs gives 20.44 of 24.0
    assert result.rows[1].exact_mg == pytest.approx(20_438 / 1.2, abs=1)
    assert result.ibu_corrected == pytest.approx(result.ibu_target, abs=0.06)


def test_held_bitterness_is_settled_before_a_pouch_takes_the_rest():
    result = balanced(POUCH, replace(HELD, alpha=0.04), PERLE)

    assert result.weights["fw"] == 25_000
    assert result.minutes == {"pouch-45": 45}


def test_today_is_what_stands_on_the_sheet():
    result = balanced(POUCH, current_minutes={"pouch-45": 60})

    row = result.rows[0]
    assert (row.minutes_before, row.minutes_after) == (60, 45)
    assert row.ibu_before == pytest.approx(28 * 0.05 * POUCH.minutes_table[60])


def test_of_equal_misses_the_least_change_in_minutes_wins():
    # twins that both want 45 and a half: 45 and 46 is as good as 46 and 45
    half = (POUCH.minutes_table[45] + POUCH.minutes_table[46]) / 2
    twins = [replace(POUCH, line=line) for line in ("a", "b")]
    target = 2 * 28 * 0.05 * half

    up_first = balanced(*twins, target_ibu=target, current_minutes={"a": 46, "b": 45})
    up_last = balanced(*twins, target_ibu=target, current_minutes={"a": 45, "b": 46})

    assert up_first.minutes == {"a": 46, "b": 45}
    assert up_last.minutes == {"a": 45, "b": 46}


def test_grams_are_kept_before_minutes():
    # 0.1 g of the held hop and one minute of the pouch are both 0.12 IBU, and both want a half
    held = replace(HELD, reference_alpha=0.050125)
    table = {10: 4.0, 11: 4.1}
    short = replace(
        POUCH, reference_mg=24_000, ibu_per_gram=4.1, minutes=11, minutes_table=table, line="p"
    )
    target = 20_050 * held.ibu_per_mg + 24 * 0.05 * 4.05

    result = balanced(held, short, target_ibu=target, current_mg={"fw": 20_100})

    assert (result.weights["fw"], result.minutes["p"]) == (20_100, 10)


def test_beyond_its_limits_a_pouch_is_held_there_and_named():
    weak = balanced(replace(POUCH, alpha=0.03, lot="FG-7"))
    strong = balanced(replace(POUCH, alpha=0.12))

    assert (weak.minutes["pouch-45"], strong.minutes["pouch-45"]) == (75, 30)
    (limit,) = weak.limits
    assert (limit.line, limit.lot) == ("pouch-45", "FG-7")
    assert limit.what.replace(NO_BREAK, " ") == (
        "Magnum pouch at 45 min: a pouch of 28.0 g at 3.0 % alpha acid would have to boil longer "
        "than 75 min, the most it may."
    )
    assert "more alpha acid" in limit.remedy
    assert "too bitter even after 30 min" in strong.limits[0].what
    assert "less alpha acid" in strong.limits[0].remedy
    assert strong.limits[0].what in " ".join(strong.working.notes)


def test_aroma_past_the_target_leaves_nothing_for_a_pouch():
    result = balanced(POUCH, replace(PERLE, alpha=0.19), target_ibu=22.0)

    assert result.minutes["pouch-45"] == 30
    assert "too bitter" in result.limits[0].what


def test_at_its_limit_beside_what_absorbs_a_pouch_is_only_noted():
    result = balanced(replace(POUCH, alpha=0.03), BITTERING)

    assert result.limits == ()
    assert result.minutes["pouch-45"] == 75
    assert result.notes == (
        "Magnum pouch at 45 min boils 75 min, the longest it may, and gives less than its own "
        "bitterness; what absorbs takes the difference.",
    )
    assert result.ibu_corrected == pytest.approx(result.ibu_target, abs=0.06)


@pytest.mark.parametrize(
    ("part", "too_short"), [(0.0, False), (0.45, False), (0.55, True), (3.0, True)]
)
def test_half_a_minute_past_the_most_still_rounds_to_it(part, too_short):
    table = {10: 4.0, 11: 4.3, 12: 4.5}

    asked = moved_time(table, 4.5 + part * 0.2)

    assert (asked.choices, asked.too_short, asked.too_long) == ((12,), too_short, False)


@pytest.mark.parametrize(("part", "too_long"), [(0.0, False), (0.45, False), (0.55, True)])
def test_half_a_minute_below_the_least_still_rounds_to_it(part, too_long):
    asked = moved_time({10: 4.0, 11: 4.3, 12: 4.5}, 4.0 - part * 0.3)

    assert (asked.choices, asked.too_short, asked.too_long) == ((10,), False, too_long)


def test_float_noise_off_a_whole_minute_is_that_minute():
    table = POUCH.minutes_table

    assert moved_time(table, table[50] * (1 + 1e-13)).choices == (50,)
    assert moved_time(table, table[50] * (1 - 1e-13)).choices == (50,)


def test_a_pouch_that_may_not_move_meets_only_its_own_lot():
    fixed = pouch(45, 45, 45)

    assert balanced(fixed).limits == ()
    assert "longer than 45 min" in balanced(replace(fixed, alpha=0.049)).limits[0].what


def test_the_spread_is_at_the_minutes_it_is_boiled():
    result = balanced(replace(POUCH, alpha=0.056), division_mg=0)

    assert result.spread_ibu == pytest.approx(0.03 * result.ibu_corrected)


def test_the_working_shows_the_boil_before_and_after():
    (part,) = balanced(replace(POUCH, alpha=0.056)).working.parts

    terms = {term.name: (term.value, term.unit) for term in part.terms}
    assert terms["boil time"] == (34, "min")
    assert terms["boil time before"] == (45, "min")
    assert terms["boil time before rounding"] == (pytest.approx(34.19, abs=0.01), "min")
    assert part.source == "role of the addition: move time"


@pytest.mark.parametrize(
    ("changes", "match"),
    [
        ({"minutes": 80}, "must lie within the limits"),
        ({"minutes": None}, "must lie within the limits"),
        ({"minutes_table": {}}, "must lie within the limits"),
        ({"minutes_table": {45: 10.0, 47: 11.0}}, "every whole minute is needed"),
        ({"minutes_table": {45: 10.0, 46: 9.0}}, "no less bitterness than the minute before"),
        ({"ibu_per_gram": 0.0}, "cannot be put right by its boil time"),
    ],
)
def test_a_pouch_without_its_minutes_is_refused(changes, match):
    with pytest.raises(ValueError, match=match):
        replace(POUCH, **changes)


def test_minutes_that_it_may_not_boil_are_refused():
    with pytest.raises(ValueError, match="may not boil 90 min"):
        balanced(POUCH, current_minutes={"pouch-45": 90})
