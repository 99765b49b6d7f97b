"""A workbook to fill in: every sheet the import takes, with its titles and no rows."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from boxwort.sheets import writing
from boxwort.sheets.forms import SheetForm

_NARROWEST = 12.0
_ROOM = 4  # characters beside the title, for the filter's arrow and the indent


def blank_workbook_xlsx(forms: Sequence[SheetForm], *, made_at: datetime) -> bytes:
    """Return the workbook as a file; of several titles of a column it bears the usual one."""
    workbook = writing.new_workbook("Workbook to import")
    for form in forms:
        sheet = workbook.create_sheet(form.name)
        titles = [column.title for column in form.single_columns()]
        columns = [
            writing.Column(title=title, width=max(_NARROWEST, len(title) + _ROOM))
            for title in titles
        ]
        writing.put_heading(sheet, 1, columns)
        writing.finish_table(sheet, heading_row=1, last_row=1, columns=len(columns))
    return writing.workbook_bytes(workbook, made_at)
