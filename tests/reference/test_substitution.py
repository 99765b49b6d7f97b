from __future__ import annotations

import pytest

from recipes.brewing.extract import Fermentable
from recipes.brewing.gravity import litre_degrees_per_kg
from recipes.brewing.roles import FermentableKind, Use
from recipes.brewing.substitution import suggested_ratio


def extract(ppg: float) -> Fermentable:
    return Fermentable(
        name=f"Extract of {ppg:g}",
        kind=FermentableKind.EXTRACT,
        kg=5.0,
        use=Use.BOIL,
        points_l_per_kg=litre_degrees_per_kg(ppg),
    )


def test_liquid_extract_for_dry():
    """J. Palmer, How to Brew, 1st ed., ch. 3.4, S: 5 lb at 40 points are 5.55 lb at 36."""
    assert 5 * suggested_ratio(extract(40), extract(36)).value == pytest.approx(5.55, abs=0.01)
