from __future__ import annotations

import numpy as np
import pytest

from boxwort.laboratory import ebc_from_srm
from recipes.brewing.spectrum import (
    SRM_PER_A430,
    XYZ_TO_LINEAR,
    absorption_shape,
    beer_colour,
    observer,
    screen_level,
)
from tests.reference.published import rows

OBSERVER = rows("cie_1931_observer")


@pytest.mark.parametrize("row", OBSERVER, ids=lambda row: row["nm"])
def test_the_fit_follows_the_standard_observer(row):
    """CIE 1931 2-degree observer (CIE 15; CIE data set 10.25039/CIE.DS.xvudnb9b), Q.

    Wyman, Sloan and Shirley, JCGT 2(2), 2013, fit it; here within 0.015 of tops of 1.0 to 1.8.
    """
    fitted = observer(np.array([float(row["nm"])]))[:, 0]
    assert fitted == pytest.approx([float(row[axis]) for axis in "xyz"], abs=0.015)


def test_the_fit_encloses_as_much_as_the_observer():
    """CIE 1931, Q: the sums of the table over every 20 nm are those of the fit within 0.3 %."""
    nm = np.array([float(row["nm"]) for row in OBSERVER])
    table = np.array([[float(row[axis]) for row in OBSERVER] for axis in "xyz"])
    assert observer(nm).sum(axis=1) == pytest.approx(table.sum(axis=1), rel=0.003)


def test_daylight_is_the_white_of_the_screen():
    """IEC 61966-2-1, Q: D65 has x 0.3127 and y 0.3290. Water lets all of it through."""
    terms = {term.name: term.value for term in beer_colour(0).working.terms}
    whole = terms["X"] + terms["Y"] + terms["Z"]
    assert terms["X"] / whole == pytest.approx(0.3127, abs=0.0005)
    assert terms["Y"] / whole == pytest.approx(0.3290, abs=0.0005)


def test_the_matrix_makes_the_screens_colours():
    """IEC 61966-2-1, Q: X, Y, Z of the primaries become pure red, green and blue; of D65, white."""
    red, green, blue = (0.4124, 0.2126, 0.0193), (0.3576, 0.7152, 0.1192), (0.1805, 0.0722, 0.9505)
    made = XYZ_TO_LINEAR @ np.array((red, green, blue)).T
    assert made == pytest.approx(np.eye(3), abs=0.0005)
    white = XYZ_TO_LINEAR @ (0.9505, 1.0, 1.089)
    assert white == pytest.approx(np.ones(3), abs=0.0005)


@pytest.mark.parametrize(
    ("linear", "level"), [(0, 0), (0.0031308, 12.92 * 0.0031308), (0.2140, 0.5), (1, 1)]
)
def test_the_curve_of_the_screen(linear, level):
    """IEC 61966-2-1, Q: 12.92 times up to 0.0031308, above it 1.055 L^(1/2.4) - 0.055."""
    assert screen_level(linear) == pytest.approx(level, abs=0.0001)


def test_average_beer():
    """A. J. deLange, Brewing Materials and Processes (2016), Q: weights that make 1 at 430 nm."""
    assert absorption_shape(np.array([430.0])) == pytest.approx([1.0])
    by_hand = 0.02465 * np.exp(-120 / 17.591) + 0.97535 * np.exp(-120 / 82.122)
    assert absorption_shape(np.array([550.0])) == pytest.approx([by_hand])


def test_colour_is_absorbance_at_430_nanometres():
    """S: SRM = 12.7 A430 and EBC = 25 A430, which is 1.97 SRM within 0.1 %."""
    absorbance = {term.name: term.value for term in beer_colour(25.4, 1.0).working.terms}["A"]
    assert absorbance == pytest.approx(2)
    assert ebc_from_srm(SRM_PER_A430 * absorbance) == pytest.approx(25 * absorbance, rel=0.001)
