"""How a beer looks and how it fits its style, in templates; loaded everywhere as a builtin.

Tags: ``swatch`` ``swatch_working`` ``amount_in_words``.
Filters: ``in_style_unit`` ``signed`` ``distance``.
"""

from __future__ import annotations

from typing import Any

from django import template

from boxwort import figures as written
from boxwort.quantities import MG_PER_G, MG_PER_KG, UL_PER_L, Measure, read_naturally
from recipes.brewing.spectrum import GLASS_CM
from recipes.brewing.style import StyleRow
from recipes.queries.colours import screen_colour

register = template.Library()

_UNITS = {"og": "SG", "fg": "SG", "abv": "%", "ibu": "IBU", "srm": "SRM"}
_DECIMALS = {"og": 3, "fg": 3, "abv": 1, "ibu": 1, "srm": 1}
_FINEST = 9
_SIZES = {
    "kg": (Measure.MASS, MG_PER_KG),
    "g": (Measure.MASS, MG_PER_G),
    "L": (Measure.VOLUME, UL_PER_L),
}


@register.inclusion_tag("recipes/_swatch.html")
def swatch(srm: float | str | None) -> dict[str, Any]:
    """Show a beer's colour as a small square; nothing where the colour is not known."""
    if not isinstance(srm, float):  # a template hands on "" where there are no figures
        return {"colour": None}
    return {"colour": screen_colour(srm), "srm": srm, "glass_cm": GLASS_CM}


@register.inclusion_tag("recipes/_swatch_working.html")
def swatch_working(srm: float | str | None) -> dict[str, Any]:
    """Show a beer's colour as a square that opens to how it was computed."""
    return swatch(srm)


@register.filter
def in_style_unit(value: float, figure: str) -> str:
    """Write a figure of a beer or a limit of its style, with its unit."""
    if figure in ("og", "fg"):
        return written.rounded(value, _DECIMALS[figure])
    return written.with_unit(value, _DECIMALS[figure], _UNITS[figure])


@register.filter
def apart(difference: float, figure: str) -> str:
    """Write how far two figures are apart, to one decimal more than the figures themselves."""
    decimals = _DECIMALS[figure] + 1
    return written.with_unit(difference, decimals, "" if figure in ("og", "fg") else _UNITS[figure])


@register.filter
def signed(difference: float, figure: str) -> str:
    """Write how much more or less a figure is than another, with its sign and unit."""
    text = in_style_unit(difference, figure)
    nothing = text.startswith((in_style_unit(0.0, figure), written.MINUS))
    return text if nothing else f"+{text}"


@register.simple_tag(takes_context=True)
def amount_in_words(context: template.Context, amount: float, unit: str) -> str:
    """Write an exact amount in kg, g or L in the units this person reads."""
    measure, size = _SIZES[unit]
    system = getattr(context.get("user"), "units", "metric")
    return read_naturally(round(amount * size), measure, system).replace(" ", written.NO_BREAK)


@register.filter
def distance(row: StyleRow) -> str:
    """Write how far outside its style a figure is: 0.2 above 5.7, never rounded to nothing."""
    size, decimals = abs(row.distance), _DECIMALS[row.figure]
    while decimals < _FINEST and float(f"{size:.{decimals}f}") == 0:
        decimals += 1
    word, limit = ("above", row.high) if row.distance > 0 else ("below", row.low)
    return f"{written.rounded(size, decimals)} {word} {in_style_unit(limit, row.figure)}"
