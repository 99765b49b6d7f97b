from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boxwort.figures import NO_BREAK
from recipes.brewing.power import (
    SOUND_LINTNER,
    Strength,
    adjunct_share,
    base_malt_needed_kg,
    grist_power,
    lintner_from_wk,
    strength,
)
from recipes.brewing.roles import Use
from tests.recipes.brewing.brews import (
    BASE_MALT,
    CORN_SUGAR,
    CRYSTAL,
    DRY_EXTRACT,
    FLAKED_OATS,
    PALE_MALT,
    but,
)

MASHED_CRYSTAL = but(CRYSTAL, use=Use.MASH)


@pytest.mark.parametrize(
    ("lintner", "word"),
    [
        (29.9, Strength.TOO_WEAK),
        (30, Strength.WEAK),
        (39.9, Strength.WEAK),
        (40, Strength.SOUND),
        (69.9, Strength.SOUND),
        (70, Strength.COMFORTABLE),
    ],
)
def test_words_for_a_grist(lintner, word):
    assert strength(lintner) is word


@given(st.floats(0, 400))
def test_windisch_kolbach_goes_to_lintner_and_back(wk):
    assert 3.5 * lintner_from_wk(wk) - 16 == pytest.approx(wk, abs=1e-9)


@given(st.lists(st.tuples(st.floats(0.01, 10), st.floats(0, 200)), min_size=1, max_size=6))
def test_a_grist_is_no_stronger_than_its_strongest_malt(malts):
    grist = [but(BASE_MALT, kg=kg, power_lintner=power) for kg, power in malts]
    powers = [power for _, power in malts]
    assert min(powers) - 1e-9 <= grist_power(grist).value <= max(powers) + 1e-9


def test_only_what_is_mashed_counts():
    mashed = grist_power((BASE_MALT, MASHED_CRYSTAL))
    assert grist_power((BASE_MALT, MASHED_CRYSTAL, CRYSTAL, DRY_EXTRACT)) == mashed
    assert len(mashed.parts) == 2


def test_a_weak_grist_is_told_its_remedy():
    weak = grist_power((but(BASE_MALT, power_lintner=20.0),))
    assert "Add base malt" in weak.notes[0]


def test_no_mash_has_no_power():
    with pytest.raises(ValueError, match="weight of mashed grain must be more than zero"):
        grist_power((CRYSTAL, DRY_EXTRACT))


@given(st.floats(0.1, 5), st.floats(0, 39), st.floats(45, 200))
def test_the_malt_that_is_needed_makes_a_mash_just_sound(kg, power, malt_power):
    weak = but(BASE_MALT, kg=kg, power_lintner=power)
    needed_kg = base_malt_needed_kg((weak,), malt_power)
    mash = (weak, but(BASE_MALT, kg=needed_kg, power_lintner=malt_power))
    assert grist_power(mash).value == pytest.approx(SOUND_LINTNER)


def test_a_strong_mash_needs_no_more_malt():
    assert base_malt_needed_kg((BASE_MALT,), 140.0) == 0


def test_weak_malt_never_makes_a_mash_sound():
    with pytest.raises(ValueError, match="choose a stronger one"):
        base_malt_needed_kg((FLAKED_OATS,), 40.0)


def test_adjuncts_are_unmalted_grain_and_sugar_by_extract():
    share = adjunct_share((PALE_MALT, FLAKED_OATS, CORN_SUGAR), 0.75)
    oats, sugar = 0.5 * 270 * 0.75, 0.5 * 384
    assert share.value == pytest.approx((oats + sugar) / (4.5 * 300 * 0.75 + oats + sugar) * 100)
    assert [part.name for part in share.parts] == ["Flaked oats", "Corn sugar"]
    assert "mashed grain at 75 %" in share.notes[0].replace(NO_BREAK, " ")


def test_without_an_efficiency_adjuncts_are_a_share_of_all_the_grist_can_give():
    share = adjunct_share((PALE_MALT, FLAKED_OATS))
    assert share.value == pytest.approx(0.5 * 270 / (4.5 * 300 + 0.5 * 270) * 100)
    assert "all it can give" in share.notes[0].replace(NO_BREAK, " ")


def test_priming_sugar_is_no_adjunct_of_the_wort():
    assert adjunct_share((PALE_MALT, but(CORN_SUGAR, use=Use.PRIMING))).value == 0


def test_grain_of_no_family_is_named():
    assert "counted as malt: Pale malt" in adjunct_share((BASE_MALT, FLAKED_OATS)).notes[1]


def test_a_grist_without_extract_has_no_share_of_adjuncts():
    with pytest.raises(ValueError, match="extract must be more than zero"):
        adjunct_share(())
