from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recipes.brewing.calibration import calibrated, pooled
from recipes.brewing.figures import figures
from recipes.brewing.roles import MethodKind, Use
from tests.recipes.brewing.brews import (
    ALL_GRAIN,
    CORN_SUGAR,
    CRYSTAL,
    DRY_EXTRACT,
    EXTRACT,
    PALE_MALT,
    but,
)

PARTIAL = replace(
    EXTRACT,
    kind=MethodKind.PARTIAL_MASH,
    fermentables=(but(PALE_MALT, kg=1.5), but(DRY_EXTRACT, kg=1.6), CRYSTAL),
)
LEAVES_SOME = replace(ALL_GRAIN, pre_boil_volume_l=26.0, post_boil_volume_l=22.0)
MASHES = st.sampled_from([ALL_GRAIN, PARTIAL, LEAVES_SOME])


def trial_of(brew, **changes):
    """Return what is measured when a brew turns out as the changed one is predicted to."""
    real = figures(replace(brew, **changes))
    return {
        "measured_og": real.og.value,
        "measured_volume_l": brew.finished_volume_l,
        "measured_fg": real.fg.value,
    }


@given(MASHES, st.floats(0.3, 1), st.floats(0.3, 0.95))
def test_a_trial_gives_back_the_efficiency_and_attenuation_it_was_brewed_with(
    brew, efficiency, attenuation
):
    found = calibrated(brew, **trial_of(brew, mash_efficiency=efficiency, attenuation=attenuation))
    assert found.mash_efficiency == pytest.approx(efficiency)
    assert found.attenuation == pytest.approx(attenuation)
    assert found.brew == replace(
        brew, mash_efficiency=found.mash_efficiency, attenuation=found.attenuation
    )


def test_a_brew_that_ends_as_predicted_changes_nothing():
    found = calibrated(ALL_GRAIN, **trial_of(ALL_GRAIN))
    assert found.effect.after.og.value == pytest.approx(found.effect.before.og.value)
    assert found.effect.after.fg.value == pytest.approx(found.effect.before.fg.value)
    assert found.notes == ()


def test_the_effect_on_the_figures_is_shown():
    found = calibrated(ALL_GRAIN, **trial_of(ALL_GRAIN, mash_efficiency=0.68))
    assert found.effect.before == figures(ALL_GRAIN)
    assert found.effect.after.og.value == pytest.approx(1 + 4.5 * 300 * 0.68 / 20 / 1000)
    assert found.effect.after.ibu.value > found.effect.before.ibu.value


def test_only_the_mash_answers_for_what_is_missing():
    """1.5 kg of malt can give 450; 1.6 kg of extract gives 585.6 and the steep 45 of 900."""
    found = calibrated(PARTIAL, measured_og=1.045, measured_volume_l=20)
    assert found.mash_efficiency == pytest.approx((900 - 585.6 - 45) / 450)
    assert found.attenuation is None
    assert "No final gravity" in found.notes[0]


def test_what_is_left_in_the_kettle_is_counted_with_what_is_in_the_fermenter():
    found = calibrated(LEAVES_SOME, measured_og=1.046, measured_volume_l=20)
    assert found.mash_efficiency == pytest.approx(46 * 22 / 1350)


def test_more_wort_than_planned_is_more_extract_and_is_told():
    found = calibrated(ALL_GRAIN, measured_og=1.046, measured_volume_l=21.5)
    assert found.mash_efficiency == pytest.approx(46 * 21.5 / 1350)
    assert any("made 21.5 L of wort where 20.0 L are planned" in note for note in found.notes)


def test_sugar_for_the_fermenter_is_not_in_the_measured_wort():
    fed = replace(ALL_GRAIN, fermentables=(PALE_MALT, but(CORN_SUGAR, use=Use.FERMENTER)))
    found = calibrated(fed, measured_og=1.050, measured_volume_l=20)
    assert found.mash_efficiency == pytest.approx(1000 / 1350)


def test_an_extract_method_has_no_efficiency_to_calibrate_and_says_so():
    found = calibrated(EXTRACT, **trial_of(EXTRACT, attenuation=0.70))
    assert found.mash_efficiency is None
    assert found.brew.mash_efficiency == EXTRACT.mash_efficiency
    assert found.attenuation == pytest.approx(0.70)
    assert "only volume and attenuation" in found.notes[0]


def test_extract_that_seems_to_be_missing_is_a_wrong_reading():
    found = calibrated(EXTRACT, measured_og=1.040, measured_volume_l=20)
    assert any("at this gravity fill 25.8 L and not 20.0 L" in note for note in found.notes)


def test_each_value_shows_its_working():
    found = calibrated(PARTIAL, **trial_of(PARTIAL, mash_efficiency=0.7))
    names = [working.name for working in found.workings]
    assert names == ["Mash efficiency", "Attenuation", "Volume of wort"]
    assert found.workings[0].value == pytest.approx(70)
    for working in found.workings:
        assert working.formula
        assert working.source
        assert working.terms


@pytest.mark.parametrize(
    ("og", "fg", "words"),
    [
        (1.080, None, "of what its grain holds; check that the wort was mixed"),
        (1.030, None, "the mash would have given nothing; check that the wort was mixed"),
        (1.045, 1.050, "check which reading is which"),
        (1.045, 0.990, "check the reading, the fermentability"),
        (1.045, 1.045, "check that fermentation began"),
        (1.000, None, "points of the measured gravity must be more than zero"),
    ],
)
def test_readings_that_cannot_be_are_refused_with_what_may_have_gone_wrong(og, fg, words):
    with pytest.raises(ValueError, match=words):
        calibrated(PARTIAL, measured_og=og, measured_volume_l=20, measured_fg=fg)


def test_several_trials_are_averaged_with_their_spread():
    trials = [
        calibrated(ALL_GRAIN, **trial_of(ALL_GRAIN, mash_efficiency=efficiency))
        for efficiency in (0.66, 0.70, 0.74)
    ]
    mean = pooled(trials)
    assert mean.mash_efficiency == pytest.approx(0.70)
    assert mean.attenuation == pytest.approx(ALL_GRAIN.attenuation)
    assert mean.workings[0].notes == ("3 trials, one standard deviation 4.0 percentage points.",)
    assert [term.value for term in mean.workings[0].terms] == pytest.approx([66, 70, 74])
    assert mean.effect.after.og.value == pytest.approx(
        figures(replace(ALL_GRAIN, mash_efficiency=0.70)).og.value
    )


def test_a_trial_without_a_final_gravity_is_left_out_of_the_attenuation():
    first = calibrated(ALL_GRAIN, **trial_of(ALL_GRAIN, attenuation=0.72))
    second = calibrated(ALL_GRAIN, measured_og=1.050, measured_volume_l=20)
    mean = pooled((first, second))
    assert mean.attenuation == pytest.approx(0.72)
    assert mean.workings[1].notes == ("One trial only: how far trials differ is not known yet.",)


def test_no_trial_is_no_calibration():
    with pytest.raises(ValueError, match="brew one and measure it"):
        pooled(())
