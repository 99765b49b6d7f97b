from __future__ import annotations

from dataclasses import replace

import pytest

from recipes.brewing.roles import Use
from recipes.brewing.twins import Wort
from tests.recipes.brewing.brews import ALL_GRAIN, BASE_MALT, CORN_SUGAR, CRYSTAL, but


def test_what_was_mashed_follows_the_wort_and_the_efficiency_of_the_new_mash():
    new = replace(ALL_GRAIN, post_boil_volume_l=22.0, mash_efficiency=0.60)
    wort = Wort(old=ALL_GRAIN, new=new, stock=())
    assert wort.carried(BASE_MALT).kg == pytest.approx(4.5 * 22 / 20 * 0.75 / 0.60)
    assert wort.carried(CRYSTAL).kg == pytest.approx(0.3 * 22 / 20)


def test_priming_sugar_follows_the_beer():
    primed = but(CORN_SUGAR, use=Use.PRIMING)
    new = replace(ALL_GRAIN, finished_volume_l=10.0, post_boil_volume_l=22.0)
    assert Wort(old=ALL_GRAIN, new=new, stock=()).carried(primed).kg == pytest.approx(0.25)
