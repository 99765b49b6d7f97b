from __future__ import annotations

import pytest

from recipes.brewing.bitterness import HopAddition, bitterness, utilisation
from recipes.brewing.boil import BoilSchedule, KettleExtract, boil_gravity_for
from recipes.brewing.stand import DECAY, ISOMERISATION
from tests.reference.published import G_PER_OZ, L_PER_US_GAL, rows

TABLE = rows("hop_utilisation_table")
CELLS = [
    (float(row["boil_min"]), float(gravity), printed)
    for row in TABLE
    for gravity, printed in row.items()
    if gravity != "boil_min"
]


@pytest.mark.parametrize(("minutes", "gravity", "printed"), CELLS)
def test_every_cell_of_the_utilisation_table_to_its_third_decimal(minutes, gravity, printed):
    """G. Tinseth, "Glenn's Hop Utilization Numbers" (1990s), Q: no cell differs."""
    assert f"{utilisation(gravity, minutes):.3f}" == printed


def test_the_utilisation_table_is_whole():
    """Eight times by eleven gravities were read."""
    assert len(CELLS) == 88


def test_palmers_partial_boil():
    """J. Palmer, How to Brew, 1st ed., ch. 5.5, S/Q.

    1.5 oz at 6.4 % for 60 minutes and 1 oz at 4.6 % for 15, boiled in 3 US gal at 1.080 for a
    5 US gal recipe. He takes 75 where the exact factor is 74.89, which moves neither whole number.
    """
    boiled_l = 3 * L_PER_US_GAL
    schedule = BoilSchedule(
        pre_boil_volume_l=boiled_l,
        post_boil_volume_l=boiled_l,
        extracts=(KettleExtract(name="Extract", points_l=80 * boiled_l),),
    )
    first, second = (
        HopAddition(
            name=name,
            grams=oz * G_PER_OZ,
            alpha=alpha,
            minutes=minutes,
            boil_gravity=boil_gravity_for(minutes, schedule),
        )
        for name, oz, alpha, minutes in (("First", 1.5, 0.064, 60), ("Second", 1.0, 0.046, 15))
    )
    ibu = bitterness((first, second), 5 * L_PER_US_GAL)

    alpha_acid_units = [part.terms[0].value * part.terms[1].value / G_PER_OZ for part in ibu.parts]
    assert alpha_acid_units == pytest.approx([9.6, 4.6])
    assert utilisation(first.boil_gravity, 60) == pytest.approx(0.176, abs=0.0005)
    assert utilisation(second.boil_gravity, 15) == pytest.approx(0.087, abs=0.0005)
    assert [round(part.value) for part in ibu.parts] == [25, 6]
    assert round(ibu.value) == 31


def test_7490_in_american_units_is_a_rounding():
    """G. Tinseth, S: ounces and US gallons give 7489.15, quoted as 7490."""
    exact = G_PER_OZ * 1000 / L_PER_US_GAL
    one_ounce = HopAddition(name="Hop", grams=G_PER_OZ, alpha=1.0, minutes=60, boil_gravity=1.050)
    assert exact == pytest.approx(7489.15, abs=0.01)
    assert one_ounce.ibu(L_PER_US_GAL) == pytest.approx(exact * utilisation(1.050, 60))


GAS_CONSTANT = 8.314  # joules per mole and kelvin


@pytest.mark.parametrize(
    ("rate", "kj_per_mol"), [(ISOMERISATION, 98.6), (DECAY, 108.0)], ids=["k1", "k2"]
)
def test_the_exponents_are_the_activation_energies(rate, kj_per_mol):
    """M. G. Malowicki and T. H. Shellhammer, J. Agric. Food Chem. 53:4434 (2005), S."""
    assert round(rate.kelvin * GAS_CONSTANT / 1000, 1) == kj_per_mol


@pytest.mark.parametrize(("celsius", "k1"), [(100, 0.01249), (90, 0.00521), (80, 0.00207)])
def test_isomerisation_at_three_temperatures(celsius, k1):
    """Malowicki and Shellhammer (2005), C: 7.9e11 exp(-11858/T); 80 C is an extrapolation."""
    assert round(ISOMERISATION.at(celsius), 5) == k1


@pytest.mark.parametrize(("celsius", "k2"), [(100, 0.003087), (90, 0.001183), (80, 0.000430)])
def test_loss_of_iso_alpha_acid_at_three_temperatures(celsius, k2):
    """Malowicki and Shellhammer (2005), C: 4.1e12 exp(-12994/T); 80 C is an extrapolation."""
    assert round(DECAY.at(celsius), 6) == k2
