from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recipes.brewing.spectrum import absorption_shape, beer_colour, screen_level

colours = st.floats(0, 80)
widths = st.floats(0.5, 12)


def levels(beer):
    return beer.red, beer.green, beer.blue


@given(colours, colours, widths)
def test_a_darker_beer_is_darker_in_every_colour(one, other, width):
    pale, dark = (beer_colour(srm, width) for srm in sorted((one, other)))
    assert all(less <= more for less, more in zip(levels(dark), levels(pale), strict=True))
    assert dark.working.value <= pale.working.value


@given(colours, widths)
def test_beer_is_never_blue(srm, width):
    beer = beer_colour(srm, width)
    assert beer.blue <= beer.green <= beer.red


@given(widths)
def test_water_is_white_in_any_glass(width):
    assert beer_colour(0, width).hex == "#ffffff"


@given(st.floats(1, 40))
def test_twice_the_glass_looks_as_twice_the_colour(srm):
    assert levels(beer_colour(srm, 6.0)) == levels(beer_colour(2 * srm, 3.0))


def test_a_stout_is_black_across_a_glass_and_brown_at_its_edge():
    assert max(levels(beer_colour(60))) < 32
    assert beer_colour(60, 0.5).red > 150


def test_the_swatch_is_what_its_working_says():
    beer = beer_colour(6)
    assert levels(beer) == tuple(round(part.value) for part in beer.working.parts)
    assert [part.name for part in beer.working.parts] == ["Red", "Green", "Blue"]
    assert beer.hex == "#{:02x}{:02x}{:02x}".format(*levels(beer))
    terms = {term.name: term.value for term in beer.working.terms}
    assert terms["A"] == pytest.approx(6 / 12.7 * 5)
    assert beer.working.value == pytest.approx(terms["Y"] * 100)


def test_a_colour_deeper_than_the_screen_says_so():
    assert not any("Deeper" in note for note in beer_colour(3).working.notes)
    assert any("Deeper" in note for note in beer_colour(20).working.notes)


def test_beer_absorbs_less_the_redder_the_light():
    shape = absorption_shape(np.arange(380.0, 781.0, 5.0))
    assert (np.diff(shape) < 0).all()


@given(st.floats(-1, 2), st.floats(-1, 2))
def test_more_light_is_never_a_lower_level(one, other):
    dim, bright = sorted((one, other))
    assert 0 <= screen_level(dim) <= screen_level(bright) <= 1


def test_impossible_beers_are_refused():
    with pytest.raises(ValueError, match="colour cannot be less than zero"):
        beer_colour(-1)
    with pytest.raises(ValueError, match="width of the glass must be more than zero"):
        beer_colour(5, 0)
