"""Days on which the house does not work, whatever their weekday."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from boxwort.accounts.models import DayOff, User
from boxwort.accounts.queries import site_settings
from boxwort.accounts.services import service, write_history
from boxwort.errors import Refusal

LONGEST_NAME = 80


@dataclass(frozen=True, kw_only=True)
class DayOffRow:
    """A day off with its name, which may be empty."""

    id: int
    on: date
    name: str


def days_off(*, from_on: date) -> list[DayOffRow]:
    """Return the days off from a day on, in order; one statement."""
    found = DayOff.objects.filter(on__gte=from_on).order_by("on")
    return [DayOffRow(id=day.pk, on=day.on, name=day.name) for day in found]


@service
def add_day_off(*, by: User, on: date, name: str = "") -> DayOff:
    """Note a day off; one that is noted already is renamed where its name differs.

    Raises
    ------
    Refusal: ``text-too-long``.
    """
    name = name.strip()
    if len(name) > LONGEST_NAME:
        raise Refusal(
            "text-too-long",
            f"The name of the day has {len(name)} characters.",
            f"Shorten it to {LONGEST_NAME}.",
        )
    day = DayOff.objects.filter(on=on).first() or DayOff(on=on)
    if not day._state.adding and day.name == name:
        return day
    before = {} if day._state.adding else {"name": day.name}
    day.name = name
    day.save()
    after = {"on": on, "name": name}
    write_history(by=by, thing=site_settings(), action="day-off", before=before, after=after)
    return day


@service
def remove_day_off(*, by: User, day: DayOff) -> None:
    """Let the house work on a day after all."""
    before = {"on": day.on, "name": day.name}
    write_history(by=by, thing=site_settings(), action="day-off-removed", before=before)
    day.delete()
