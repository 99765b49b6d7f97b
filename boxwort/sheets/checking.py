"""Checks that rows of several sheets, and the books they go into, fit together."""

from __future__ import annotations

from collections.abc import Collection

from boxwort.sheets.reading import Reading


def check_named(
    reading: Reading, sheet: str, name: str, *, in_sheet: str, code: str, in_books: Collection[str]
) -> None:
    """Note each row that names what neither another sheet nor the books hold.

    Parameters
    ----------
    sheet, name: the column that refers.
    in_sheet, code: the column referred to; a row of it that is wrong elsewhere still counts.
    in_books: the codes the database already holds.
    """
    known = reading.named(in_sheet, code) | set(in_books)
    what = f"This is neither in the sheet “{in_sheet}” nor in the books."
    check_among(reading, sheet, name, known, what, f"Correct it, or add it to “{in_sheet}”.")


def check_among(
    reading: Reading, sheet: str, name: str, known: Collection[object], what: str, remedy: str
) -> None:
    """Note each row of a sheet whose value in a column is not among those ``known``."""
    for row in reading.rows[sheet]:
        value = row.values.get(name)
        if value is not None and value not in known:
            row.sound = False
            reading.add(row, name, what, remedy)
