from __future__ import annotations

from dataclasses import replace

import pytest

from recipes.brewing.figures import figures, hop_additions
from recipes.brewing.hop_weights import with_bitterness_of
from recipes.brewing.roles import HopRole
from tests.recipes.brewing.brews import ALL_GRAIN, BITTERING, DRY_HOP, FLAVOUR, LATE

FULL = replace(ALL_GRAIN, hops=(BITTERING, FLAVOUR, LATE, DRY_HOP))
SMALL = replace(FULL, pre_boil_volume_l=13.0, post_boil_volume_l=10.0)


def test_the_same_boil_needs_the_same_hops():
    assert with_bitterness_of(FULL, FULL) == FULL


def test_a_heavier_boil_takes_more_of_the_hops_that_move_and_the_same_of_the_others():
    bittering, flavour, late, dry = with_bitterness_of(FULL, SMALL).hops
    assert bittering.grams > BITTERING.grams
    assert flavour.grams > FLAVOUR.grams
    assert (late, dry) == (LATE, DRY_HOP)
    assert figures(with_bitterness_of(FULL, SMALL)).ibu.value == pytest.approx(
        figures(FULL).ibu.value
    )


def test_what_a_pouch_that_moves_its_time_loses_is_absorbed():
    moved = replace(FLAVOUR, role=HopRole.MOVE_TIME)
    brew = replace(FULL, hops=(BITTERING, moved))
    thin = replace(SMALL, hops=(BITTERING, moved))
    found = with_bitterness_of(brew, thin)
    assert found.hops[1] == moved
    lost = hop_additions(brew)[1].ibu(20) - hop_additions(found)[1].ibu(20)
    won = hop_additions(found)[0].ibu(20) - hop_additions(brew)[0].ibu(20)
    assert won == pytest.approx(lost)
    assert lost > 0


def test_without_a_hop_that_absorbs_each_only_keeps_its_own():
    brew, small = (replace(each, hops=(FLAVOUR, LATE)) for each in (FULL, SMALL))
    found = with_bitterness_of(brew, small)
    assert hop_additions(found)[0].ibu(20) == pytest.approx(hop_additions(brew)[0].ibu(20))
    assert found.hops[1] == LATE
