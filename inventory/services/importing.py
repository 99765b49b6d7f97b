"""What the stock room takes from a workbook: its sheets, their checks, and writing them."""

from __future__ import annotations

from datetime import date

from boxwort.sheets.reading import Reading
from boxwort.sheets.saving import Saving
from inventory.services.importing_buying import check_buying, save_buying
from inventory.services.importing_catalogue import (
    Catalogue,
    check_catalogue,
    save_catalogue,
    standing_catalogue,
)
from inventory.services.importing_forms import FORMS
from inventory.services.importing_lots import check_lots, save_lots

__all__ = ["FORMS", "Catalogue", "check_stock", "save_stock", "standing_catalogue"]


def check_stock(reading: Reading, books: Catalogue, on: date) -> None:
    """Check the sheets of the stock room; ``on`` is the day the workbook is dated as of."""
    check_catalogue(reading, books)
    check_buying(reading, books)
    check_lots(reading, books, on)


def save_stock(saving: Saving, books: Catalogue) -> None:
    """Write the sheets of the stock room; ``books`` grows by what they hold."""
    save_catalogue(saving, books)
    save_buying(saving, books)
    save_lots(saving, books)
