"""The sheet of the days on which the house does not work."""

from __future__ import annotations

from boxwort.accounts.days_off import LONGEST_NAME, add_day_off
from boxwort.accounts.models import DayOff
from boxwort.sheets import cells
from boxwort.sheets.forms import SheetForm, column, optional
from boxwort.sheets.saving import Saving

DAYS_OFF = SheetForm(
    name="Days off",
    unique=("on",),
    columns=(
        column("on", "Day", cells.day),
        optional("name", "Name", cells.text(LONGEST_NAME), ""),
    ),
)


def save_days_off(saving: Saving) -> None:
    """Note the days off; none that is noted already is taken away."""
    standing = set(DayOff.objects.values_list("on", flat=True))
    for row in saving.reading.sound(DAYS_OFF.name):
        with saving.writing(row, new=row["on"] not in standing):
            add_day_off(by=saving.by, on=row["on"], name=row["name"])
