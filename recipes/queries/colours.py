"""How a beer looks on a screen, for whoever shows its SRM."""

from __future__ import annotations

from functools import lru_cache

from recipes.brewing.spectrum import BeerColour, beer_colour

_KEPT = 512  # a list of kits asks for the same few beers again and again


@lru_cache(maxsize=_KEPT)
def screen_colour(srm: float) -> BeerColour:
    """Return the colour of a beer of this SRM through a glass, with its working."""
    return beer_colour(srm)
