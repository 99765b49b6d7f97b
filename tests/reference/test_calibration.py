from __future__ import annotations

import pytest

from recipes.brewing.calibration import calibrated
from recipes.brewing.extract import Fermentable
from recipes.brewing.figures import Brew
from recipes.brewing.gravity import litre_degrees_per_kg
from recipes.brewing.roles import FermentableKind, MethodKind, Use
from tests.reference.published import KG_PER_LB, L_PER_US_GAL


def test_efficiency_of_a_measured_mash():
    """J. Palmer, How to Brew, 1st ed., ch. 12.5, S: 8.5 lb of 37 points, 6 gal at 1.038: 73 %.

    The book rounds to 27 points per lb per gal first, and so it is checked within half a point.
    """
    volume_l = 6 * L_PER_US_GAL
    grist = Fermentable(
        name="Grist",
        kind=FermentableKind.GRAIN,
        kg=8.5 * KG_PER_LB,
        use=Use.MASH,
        points_l_per_kg=litre_degrees_per_kg(37),
    )
    brew = Brew(
        kind=MethodKind.ALL_GRAIN,
        finished_volume_l=volume_l,
        pre_boil_volume_l=volume_l,
        post_boil_volume_l=volume_l,
        mash_efficiency=0.75,
        attenuation=0.75,
        fermentables=(grist,),
        hops=(),
    )
    found = calibrated(brew, measured_og=1.038, measured_volume_l=volume_l)
    assert found.mash_efficiency == pytest.approx(0.73, abs=0.5 / 37)
