"""The paper on which figures show their working, drawn from the same objects as pages and API.

>>> colour = Working(
...     name="Colour", formula="1.4922 * MCU^0.6859", value=8.2046, unit="SRM", terms=(),
...     source="D. Morey, BrewingTechniques",
... )
>>> [(row["name"], row["value"].replace(figures.NO_BREAK, " ")) for row in working_rows(colour)]
[('Colour', '8.2046 SRM')]
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from boxwort import figures
from boxwort.papers.printing import Reader, printed
from boxwort.working import Working

LAYOUT = Path(__file__).parent / "layouts" / "workings.typ"
ESTIMATES = "Figures are estimates from the numbers shown beside them, not laboratory results."


@dataclass(frozen=True, kw_only=True)
class Section:
    """Figures under one heading; ``note`` says what they are figures of."""

    title: str
    figures: Sequence[Working]
    note: str = ""


def workings_pdf(
    sections: Sequence[Section],
    *,
    title: str,
    lead: str,
    reader: Reader,
) -> bytes:
    """Return figures as a paper, each with its formula, numbers, source and parts."""
    data = {
        "title": title,
        "lead": lead,
        "producer": reader.producer,
        "dated": figures.on_date(reader.on),
        "note": ESTIMATES,
        "sections": [
            {
                "title": section.title,
                "note": section.note,
                "rows": [row for figure in section.figures for row in working_rows(figure)],
            }
            for section in sections
            if section.figures
        ],
    }
    return printed(LAYOUT, data, dated=reader.on, paper=reader.paper)


def working_rows(working: Working) -> list[dict[str, Any]]:
    """Return a figure and all it is made of as plain rows, each under the one it is a part of.

    ``depth`` is 0 for the figure itself. A part whose source is that of the figure it is in leaves
    it out.
    """
    return list(_rows(working, 0, ""))


def _rows(working: Working, depth: int, said: str) -> Iterator[dict[str, Any]]:
    yield {
        "depth": depth,
        "name": working.name,
        "value": _with_unit(working.value, working.unit),
        "formula": working.formula,
        "terms": [
            {"name": term.name, "value": _with_unit(term.value, term.unit)}
            for term in working.terms
        ],
        "notes": list(working.notes),
        "source": "" if working.source == said else working.source,
    }
    for part in working.parts:
        yield from _rows(part, depth + 1, working.source)


def _with_unit(value: float, unit: str) -> str:
    number = figures.legible(value)
    return f"{number}{figures.NO_BREAK}{unit}" if unit else number
