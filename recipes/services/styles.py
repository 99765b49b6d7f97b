"""Beer styles, imported from the list of statistics that a house goes by."""

from __future__ import annotations

from collections.abc import Mapping

from boxwort.accounts.models import User
from boxwort.accounts.services import service, write_history
from boxwort.errors import Refusal
from inventory.services.entries import check_code
from inventory.services.rows import check_row
from recipes.models import Style
from recipes.models.styles import STYLE_FIGURES

RANGE_NAMES = tuple(f"{figure}_{end}" for figure in STYLE_FIGURES for end in ("min", "max"))


@service
def write_style(*, by: User, code: str, name: str, ranges: Mapping[str, float]) -> Style:
    """Write a style, or change the one with this code; what already stands changes nothing.

    ``ranges`` are the least and most of each figure ("og_min", ..., "abv_max"): SG, IBU, SRM and
    percent by volume.

    Raises
    ------
    Refusal: ``code-not-valid``, ``style-range-reversed``, or ``entry-not-valid`` for a name that
        another style has.
    """
    check_code(code, "a style")
    _refuse_reversed(name, ranges)
    style = Style.objects.filter(code=code).first() or Style(code=code)
    said = {"name": name, **{each: ranges[each] for each in RANGE_NAMES}}
    new = style._state.adding
    before = {} if new else {each: getattr(style, each) for each in said}
    if before == said:
        return style
    for each, value in said.items():
        setattr(style, each, value)
    check_row(style)
    style.save()
    write_history(by=by, thing=style, action="write-style", before=before, after=said)
    return style


def _refuse_reversed(name: str, ranges: Mapping[str, float]) -> None:
    for figure in STYLE_FIGURES:
        least, most = ranges[f"{figure}_min"], ranges[f"{figure}_max"]
        if least > most:
            raise Refusal(
                "style-range-reversed",
                f"The {figure.upper()} of {name} goes from {least:g} to {most:g}.",
                "Give the lower figure first.",
            )
