"""Beer styles for reading, and how far a beer lies from the style that its recipe names."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Q

from recipes.brewing.figures import Figures
from recipes.brewing.style import StyleRanges, StyleRow, style_check
from recipes.models import Style
from recipes.models.styles import STYLE_FIGURES


@dataclass(frozen=True, kw_only=True)
class NamedStyle:
    """A style with the least and the most of each figure."""

    code: str
    name: str
    ranges: StyleRanges

    def check(self, figures: Figures) -> StyleCheck:
        """Return a beer's figures beside the style's."""
        return StyleCheck(code=self.code, name=self.name, rows=style_check(figures, self.ranges))


@dataclass(frozen=True, kw_only=True)
class StyleCheck:
    """A beer beside its style: advice, never a reason to refuse it."""

    code: str
    name: str
    rows: tuple[StyleRow, ...]

    @property
    def outside(self) -> tuple[StyleRow, ...]:
        """Return the figures that the style does not allow."""
        return tuple(row for row in self.rows if not row.within)


def style_rows() -> list[NamedStyle]:
    """Return every style by name; one statement."""
    return [_named(style) for style in Style.objects.order_by("name")]


def style_of(named: str) -> NamedStyle | None:
    """Return the style whose name or code a recipe gives, capitals or not; one statement."""
    wanted = named.strip()
    found = Style.objects.filter(Q(name__iexact=wanted) | Q(code__iexact=wanted)).first()
    return _named(found) if found else None


def style_check_of(named: str, figures: Figures) -> StyleCheck | None:
    """Return a beer beside the style that a recipe gives; None when no such style is known."""
    style = style_of(named)
    return style.check(figures) if style else None


def _named(style: Style) -> NamedStyle:
    ranges = {
        f"{figure}_{end}": getattr(style, f"{figure}_{end}")
        for figure in STYLE_FIGURES
        for end in ("min", "max")
    }
    return NamedStyle(code=style.code, name=style.name, ranges=StyleRanges(**ranges))
