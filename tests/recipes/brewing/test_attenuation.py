from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recipes.brewing.attenuation import apparent_attenuation, final_gravity
from recipes.brewing.extract import original_gravity
from recipes.brewing.roles import FermentableKind, Use
from tests.recipes.brewing.brews import BASE_MALT, CORN_SUGAR, DRY_EXTRACT, but

shares = st.floats(0, 1)


def final(*lines, attenuation=0.76):
    return final_gravity(
        lines, wort_volume_l=20, mash_efficiency=0.75, strain_attenuation=attenuation
    )


def original(*lines):
    return original_gravity(lines, wort_volume_l=20, mash_efficiency=0.75)


def test_all_malt_wort_attenuates_as_the_strain_does():
    og, fg = original(BASE_MALT).value, final(BASE_MALT).value
    assert (og - fg) / (og - 1) == pytest.approx(0.76)


def test_sugar_leaves_nothing_whatever_the_strain():
    assert final(CORN_SUGAR, attenuation=0.6).value == 1


def test_lactose_leaves_everything():
    lactose = but(CORN_SUGAR, name="Lactose", fermentability=0.0)
    assert final(lactose).value == original(lactose).value


def test_priming_sugar_leaves_nothing_behind():
    assert final(BASE_MALT, but(CORN_SUGAR, use=Use.PRIMING)).value == final(BASE_MALT).value


@given(shares, shares, shares)
def test_a_beer_lies_between_water_and_its_wort(attenuation, of_extract, of_sugar):
    lines = (
        but(DRY_EXTRACT, fermentability=of_extract),
        but(CORN_SUGAR, fermentability=of_sugar),
    )
    assert 1 <= final(*lines, attenuation=attenuation).value <= original(*lines).value + 1e-12


@given(shares)
def test_nothing_ferments_further_than_away(attenuation):
    gone = apparent_attenuation(
        FermentableKind.EXTRACT, fermentability=1.5, strain_attenuation=attenuation
    )
    assert 0 <= gone <= 1


def test_percent_typed_as_a_share_is_refused():
    with pytest.raises(ValueError, match="attenuation of the yeast is a share"):
        final(BASE_MALT, attenuation=76)
    with pytest.raises(ValueError, match="fermentability of sugar is a share"):
        final(but(CORN_SUGAR, fermentability=1.2))
