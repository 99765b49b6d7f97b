"""The instruction sheet of a box as it left: its batch's, with what was added at dispatch.

The weights are those of the batch's sheet and stay. What was added in other lots or of another
yeast stands in the place of what the sheet said would be, and the brew day, the best-before and
the allergens are those of the box.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inventory.models import ItemKind
from planning.documents.wording import Content


def box_sheet(sheet: Content, box: Mapping[str, Any]) -> dict[str, Any]:
    """Return a sheet's content with what a box of a dispatch holds beside it."""
    if sheet["batch"] != box["lot"]:  # a hop pack in the box: its own sheet, as it was packed
        return dict(sheet)
    parts = {part["key"]: part for part in box["parts"]}
    yeast = next((part for part in box["parts"] if part["yeast"]), None)
    lines = []
    for line in sheet["lines"]:
        part = parts.get(line["key"])
        if line["at_dispatch"] and line["kind"] == ItemKind.YEAST and yeast:
            part = yeast
        lines.append(_line(line, part) if part else line)
    return {
        **sheet,
        "lines": lines,
        "brew_on": box["brew_on"],
        "best_before": box["best_before"],
        "allergens": box["allergens"],
        "grain": box["grain"],
        "yeast": _yeast(yeast) if yeast else sheet["yeast"],
    }


def _line(line: Mapping[str, Any], part: Mapping[str, Any]) -> dict[str, Any]:
    """Return a line of the sheet with the lot that was added to the box."""
    lot = {
        "code": part["lot"],
        "quantity": part["per_box"],
        "best_before_on": part["best_before_on"],
    }
    return {
        **line,
        "item_code": part["code"],
        "item_name": part["name"],
        "per_kit": part["per_box"],
        "lots": [lot],
        "stands_for": part["stands_for"],
        "approved_by": line.get("approved_by", "") if part["code"] == line["item_code"] else "",
    }


def _yeast(part: Mapping[str, Any]) -> dict[str, Any]:
    given = part["yeast"]
    return {
        "code": part["code"],
        "name": part["name"],
        "packs": part["per_box"],
        "pitched": given["pitched"],
        "target": given["target"],
        "starter_l": given["starter_l"],
        "at_dispatch": "",
    }
