from __future__ import annotations

import pytest

from recipes.brewing.extract import Fermentable, original_gravity, points_l
from recipes.brewing.gravity import LITRE_DEGREES_PER_PPG, litre_degrees_per_kg, ppg_from_extract
from recipes.brewing.roles import FermentableKind, Use
from tests.reference.published import KG_PER_LB, L_PER_US_GAL, rows

YIELDS = rows("malt_yields")
STEEPED = [row for row in YIELDS if row["steep_ppg"]]
SUGARS = {"Malto-Dextrin Powder", "Sugar (Corn or Cane)"}


def ingredient(
    ppg: float,
    *,
    kind: FermentableKind,
    use: Use,
    pounds: float = 1.0,
    steep_ppg: float = 0.0,
) -> Fermentable:
    return Fermentable(
        name="Ingredient",
        kind=kind,
        kg=pounds * KG_PER_LB,
        use=use,
        points_l_per_kg=litre_degrees_per_kg(ppg),
        steep_points_l_per_kg=litre_degrees_per_kg(steep_ppg),
    )


def points_per_lb_per_gal(line: Fermentable, efficiency: float) -> float:
    return points_l(line, efficiency) / line.kg / LITRE_DEGREES_PER_PPG


def kind_of(row: dict[str, str]) -> FermentableKind:
    return FermentableKind.SUGAR if row["malt"] in SUGARS else FermentableKind.GRAIN


@pytest.mark.parametrize("row", YIELDS, ids=lambda row: row["malt"])
def test_typical_yields_at_85_percent(row):
    """J. Palmer, How to Brew, 1st ed., ch. 12 table 9, S: within a point.

    The table rounds by hand (25 * 0.85 = 21.25 is printed as 22, 36 * 0.85 = 30.6 as 30); sugar is
    the same in both columns.
    """
    kind = kind_of(row)
    use = Use.BOIL if kind is FermentableKind.SUGAR else Use.MASH
    line = ingredient(float(row["max_ppg"]), kind=kind, use=use)
    assert abs(points_per_lb_per_gal(line, 0.85) - float(row["typical_ppg_85pct"])) < 1


@pytest.mark.parametrize("row", STEEPED, ids=lambda row: row["malt"])
def test_steep_yields_are_a_column_of_their_own(row):
    """J. Palmer, How to Brew, 1st ed., ch. 12 table 9, S: whatever the mash efficiency."""
    kind = kind_of(row)
    line = ingredient(
        float(row["max_ppg"]), kind=kind, use=Use.STEEP, steep_ppg=float(row["steep_ppg"])
    )
    assert points_per_lb_per_gal(line, 0.6) == pytest.approx(float(row["steep_ppg"]))


@pytest.mark.parametrize("row", YIELDS, ids=lambda row: row["malt"])
def test_maximum_yield_is_its_share_of_sucrose(row):
    """J. Palmer, ch. 12 table 9, S: within a point of 46.214 times the percentage.

    Maltodextrin is the exception: printed as 100 % and 40 points, and the points are believed.
    81 % is printed as 38 and is 37.4.
    """
    points = ppg_from_extract(float(row["max_yield_pct"]) / 100, 0.0)
    if row["malt"] == "Malto-Dextrin Powder":
        assert points - float(row["max_ppg"]) > 6
    else:
        assert abs(points - float(row["max_ppg"])) < 1


@pytest.mark.parametrize(("pounds", "ppg"), [(5.0, 40), (5.55, 36)])
def test_five_gallons_of_1040_from_extract(pounds, ppg):
    """J. Palmer, ch. 3.4, S: 5 lb of dry extract are as good as 5.55 lb of liquid."""
    line = ingredient(ppg, kind=FermentableKind.EXTRACT, use=Use.BOIL, pounds=pounds)
    og = original_gravity((line,), wort_volume_l=5 * L_PER_US_GAL, mash_efficiency=0.75)
    assert og.value == pytest.approx(1.040, abs=0.0001)


def test_six_gallons_of_1038_from_grain():
    """J. Palmer, ch. 12.5, S: 8.5 lb that could give 37 gave 27 points per lb per gal, 73 %."""
    line = ingredient(37, kind=FermentableKind.GRAIN, use=Use.MASH, pounds=8.5)
    og = original_gravity((line,), wort_volume_l=6 * L_PER_US_GAL, mash_efficiency=0.73)
    assert og.value == pytest.approx(1.038, abs=0.0005)
    assert round(points_per_lb_per_gal(line, 0.73)) == 27


def test_extract_with_a_little_mash():
    """Uchima, S: (6 * 45 + 1 * 32 * 0.70) / 5 is 1.058."""
    lines = (
        ingredient(45, kind=FermentableKind.EXTRACT, use=Use.BOIL, pounds=6),
        ingredient(32, kind=FermentableKind.GRAIN, use=Use.MASH, pounds=1),
    )
    og = original_gravity(lines, wort_volume_l=5 * L_PER_US_GAL, mash_efficiency=0.70)
    assert og.value == pytest.approx(1.058, abs=0.0005)
