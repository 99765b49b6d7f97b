from __future__ import annotations

import openpyxl
import pytest

from tests.planning.workbooks import FERNHOLLOW
from tests.reference.published import rows

OTHERS = {"East Kent Golding"}  # of no row in the table


def demo_hops():
    """Return planning alpha and loss in six months, percent, of the demo's hops by variety."""
    book = openpyxl.load_workbook(FERNHOLLOW, read_only=True)
    names = dict(row[:2] for row in book["Items"].iter_rows(min_row=2, values_only=True))
    columns, *hops = book["Hops"].iter_rows(values_only=True)
    facts = [dict(zip(columns, hop, strict=True)) for hop in hops]
    return {names[hop["Item"]].removesuffix(" pellets"): hop for hop in facts}


HOPS = demo_hops()
PUBLISHED = {row["variety"]: row for row in rows("hop_alpha_ranges")}


def test_every_hop_of_the_demo_is_a_public_variety():
    assert HOPS.keys() - PUBLISHED.keys() == OTHERS


@pytest.mark.parametrize("variety", sorted(HOPS.keys() - OTHERS))
def test_the_hops_of_the_demo_are_what_the_hop_sheets_say(variety):
    """Hop sheets and growers, each row of the table naming its own, S: alpha acid and keeping."""
    hop, sheet = HOPS[variety], PUBLISHED[variety]
    assert float(sheet["alpha_min"]) <= hop["Planning alpha (%)"] <= float(sheet["alpha_max"])
    if sheet["alpha_remaining_6mo_20C_min"]:
        least, most = (float(sheet[f"alpha_remaining_6mo_20C_{end}"]) for end in ("min", "max"))
        assert least <= 100 - hop["Lost in six months (%)"] <= most
