"""The note that goes with a dispatch: lots, dates, allergens, and the best use of the yeast.

It is drawn from the content that was kept when the boxes left.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from boxwort.papers.printing import Paper, printed
from inventory.models import YeastForm
from planning.documents.brew_day import CAUTIONS
from planning.documents.papers import LAYOUTS
from planning.documents.wording import Content, amount, day
from planning.queries.dispatch_words import yeast_words

COLD_YEAST = "Put the yeast in the refrigerator as soon as the box arrives; do not freeze it."
FROZEN_HOPS = "Keep hops frozen or cold until brew day."
NO_ALLERGENS = "None of the allergens that must be named."


def dispatch_note_pdf(
    content: Content, *, void: str = "", units: str = "metric", paper: Paper = Paper.A4
) -> bytes:
    """Return the note of a dispatch; ``void`` is the reason why it does not hold any more."""
    data = {
        "title": f"Dispatch {content['dispatch']}",
        **{name: content[name] for name in ("dispatch", "order", "customer", "producer")},
        "void": void,
        "facts": [
            {"label": "Order", "value": content["order"]},
            {"label": "Left on", "value": day(content["shipped_on"])},
            {"label": "Arrives on", "value": day(content["arrives_on"])},
            {"label": "To", "value": content["zone"] or content["customer"]},
            {"label": "Boxes", "value": f"{sum(box['quantity'] for box in content['boxes']):,}"},
        ],
        "boxes": [_box(box, units) for box in content["boxes"]],
        "extras": [_extra(extra, units) for extra in content["extras"]],
        "cautions": [*_cold(content), *CAUTIONS],
    }
    dated = date.fromisoformat(content["shipped_on"])
    return printed(LAYOUTS / "dispatch_note.typ", data, dated=dated, paper=paper)


def contains(names: list[str]) -> str:
    """Return allergens as a sentence."""
    return f"Contains {', '.join(names)}." if names else NO_ALLERGENS


def _box(box: Mapping[str, Any], units: str) -> dict[str, Any]:
    ends, set_by = day(box["best_before"]["on"]), box["best_before"]["set_by"]
    yeasts = [part for part in box["parts"] if part["yeast"]]
    others = [part for part in box["parts"] if not part["yeast"]]
    kit = {
        "name": box["kit"]["name"],
        "note": f"grain {box['grain']}" if box["grain"] else "",
        "lot": box["lot"],
        "amount": "1 kit",
        "best_before": ends,
    }
    return {
        "name": box["kit"]["name"],
        "count": f"{box['quantity']:,} {'box' if box['quantity'] == 1 else 'boxes'}",
        "lot": box["lot"],
        "best_before": f"Best before {ends}" + (f" ({set_by})." if set_by else ".") if ends else "",
        "brew_on": f"Meant to be brewed by {day(box['brew_on'])}.",
        "rows": [kit, *(_part(part, units) for part in (*others, *yeasts))],
        "yeast": [_yeast(part, box["brew_on"], units) for part in yeasts],
        "allergens": contains(box["allergens"]),
    }


def _yeast(part: Mapping[str, Any], brew_on: str, units: str) -> str:
    said = " ".join(yeast_words(part, brew_on, units))
    return f"{part['name']}, lot {part['lot']}. {said}"


def _part(part: Mapping[str, Any], units: str) -> dict[str, Any]:
    return {
        "name": part["name"],
        "note": f"stands in for {part['stands_for']}" if part["stands_for"] else "",
        "lot": part["lot"],
        "amount": amount(part["per_box"], part["measure"], units),
        "best_before": day(part["best_before_on"]),
    }


def _extra(extra: Mapping[str, Any], units: str) -> dict[str, Any]:
    return {
        "name": extra["name"],
        "note": contains(extra["allergens"]) if extra["allergens"] else "",
        "lot": extra["lot"],
        "amount": amount(extra["quantity"], extra["measure"], units),
        "best_before": day(extra["best_before_on"]),
    }


def _cold(content: Content) -> Iterator[str]:
    """Yield what must be kept cold on arrival; dry yeast keeps, but cold it keeps longer."""
    parts = [part for box in content["boxes"] for part in box["parts"]]
    if any((part["yeast"] or {}).get("form") == YeastForm.LIQUID for part in parts):
        yield COLD_YEAST
    yield FROZEN_HOPS
