"""The published tables that the arithmetic is held against, as rows of text.

Each test names its source and how the number was come by: S read in the source, Q read in a page
that quotes it, C computed from a published formula, M from memory and not seen.
"""

from __future__ import annotations

import csv
from pathlib import Path

DATA = Path(__file__).parent / "data"

KG_PER_LB = 0.45359237
G_PER_OZ = 28.349523125
L_PER_US_GAL = 3.785411784


def rows(table: str) -> list[dict[str, str]]:
    """Return the rows of ``data/<table>.csv``."""
    with (DATA / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
