"""Which work a lot's page offers, and the doors to it."""

from __future__ import annotations

from inventory.models import ConversionKind
from inventory.queries.holdings import fitting_works
from inventory.queries.lots import LotRow

DOORS = {
    ConversionKind.REPACK: "lot-repack",
    ConversionKind.MILL: "lot-mill",
    ConversionKind.DECANT: "lot-decant",
    ConversionKind.BLEND: "lot-blend",
    ConversionKind.BREAK_DOWN: "lot-break-down",
}


def works_offered(lot: LotRow, *, crushed: bool) -> list[tuple[str, str]]:
    """Return the doors of the work that fits a lot, each with its label."""
    fits = fitting_works(lot.item_kind, lot.measure, crushed=crushed) if lot.held else ()
    return [(DOORS[kind], kind.label) for kind in fits]
