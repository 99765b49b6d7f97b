from __future__ import annotations

from dataclasses import replace

import pytest

from recipes.brewing.figures import figures
from recipes.brewing.fitting import with_body_of, with_gravity_of
from recipes.brewing.roles import Family
from tests.recipes.brewing.brews import ALL_GRAIN, CORN_SUGAR, DRY_EXTRACT, EXTRACT, but


def test_gravity_and_body_are_met_in_the_wort_that_there_is():
    generous = replace(ALL_GRAIN, pre_boil_volume_l=27.0, post_boil_volume_l=24.0)
    thin = replace(EXTRACT, fermentables=(but(DRY_EXTRACT, fermentability=1.1),))
    dextrin = but(CORN_SUGAR, name="Maltodextrin", fermentability=0.05, family=Family.DEXTRIN)
    draft = with_gravity_of(generous, thin, 0).brew
    assert figures(draft).og.value == pytest.approx(figures(generous).og.value)
    found = with_body_of(generous, draft, 0, (dextrin,))
    assert figures(found.brew).og.value == pytest.approx(figures(generous).og.value)
    assert figures(found.brew).fg.value == pytest.approx(figures(generous).fg.value, abs=1e-9)
    assert found.warnings == ()
