"""From a layout and plain data to a PDF: tagged, byte for byte the same each time, no surprises.

Data reach the layout as JSON, so that no name can become markup. A warning stops the printing. The
typeface comes with the house; a character it lacks is printed as its code point, [U+6F22], so that
nothing on a sheet is dropped in silence. What all papers share is ``layouts/house.typ`` beside
this file; a layout of any app imports it by its path from the top of the tree.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from enum import StrEnum
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import typst

TREE = Path(__file__).resolve().parents[2]
_TRIES = 8
_NO_GLYPH = re.compile(r'text `"(.+?)"` could not be displayed', re.DOTALL)
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ufeff\ufffe\uffff\ud800-\udfff]")


class Paper(StrEnum):
    """The sizes of paper that the layouts are made for."""

    A4 = "a4"
    LETTER = "us-letter"


@dataclass(frozen=True, kw_only=True)
class Reader:
    """Whom a paper is printed for, and when: whose house, in which units, on which paper."""

    producer: str
    on: date
    units: str = "metric"
    paper: Paper = Paper.A4


def printed(layout: Path, data: Mapping[str, Any], *, dated: date, paper: Paper) -> bytes:
    """Return the PDF of a layout filled with data.

    Parameters
    ----------
    layout: a file of this tree.
    data: plain JSON values; ``dated`` becomes the document's own date.

    Raises
    ------
    RuntimeError: the layout gave a warning.
    typst.TypstError: the layout itself is faulty.
    """
    text = json.dumps(_clean(data), ensure_ascii=False, sort_keys=True)
    for _ in range(_TRIES):
        try:
            return _compiled(layout, text, dated, paper)
        except typst.TypstError as problem:
            missing = set(_NO_GLYPH.findall(f"{problem.message}\n{problem.diagnostic}"))
            text, before = _spelled_out(text, missing), text
            if text == before:
                raise
    msg = f"{layout.stem}: more characters without a glyph than {_TRIES} passes could spell out"
    raise RuntimeError(msg)


def _compiled(layout: Path, text: str, dated: date, paper: Paper) -> bytes:
    compiler = typst.Compiler(
        input=str(layout.resolve()),
        root=str(TREE),
        font_paths=_fonts(),
        ignore_system_fonts=True,
    )
    result, warnings = compiler.compile_with_warnings(
        format="pdf",
        sys_inputs={"data": text, "paper": paper.value},
        pdf_standards="ua-1",
        timestamp=datetime(dated.year, dated.month, dated.day, tzinfo=UTC),
    )
    if warnings or not isinstance(result, bytes):
        told = "; ".join(warning.message for warning in warnings)
        msg = f"the layout {layout.stem} did not print cleanly: {told or 'it gave no pages'}"
        raise RuntimeError(msg)
    return result


@cache
def _fonts() -> typst.Fonts:
    folder = str(files("font_source_sans_pro") / "files")
    return typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[folder]
    )


def _clean(value: Any) -> Any:
    """Return plain values whose text holds no control characters."""
    if isinstance(value, str):
        return _CONTROL.sub("", value.replace("\r\n", "\n").replace("\r", "\n"))
    if isinstance(value, Mapping):
        return {name: _clean(inner) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_clean(inner) for inner in value]
    return value


def _spelled_out(text: str, missing: set[str]) -> str:
    for character in sorted({one for cluster in missing for one in cluster if ord(one) > 127}):
        text = text.replace(character, f"[U+{ord(character):04X}]")
    return text
