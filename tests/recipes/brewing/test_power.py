from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recipes.brewing.power import (
    Strength,
    grist_power,
    lintner_from_wk,
    strength,
    wk_from_lintner,
)
from recipes.brewing.roles import Use
from tests.recipes.brewing.brews import BASE_MALT, CRYSTAL, DRY_EXTRACT, but

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
    assert wk_from_lintner(lintner_from_wk(wk)) == pytest.approx(wk, abs=1e-9)


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
