"""Days of any year, such as 15 May, kept as month x 100 + day."""

from __future__ import annotations

import re
from datetime import date

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
_LEAP_YEAR = 2024
_DAY_FIRST = re.compile(r"(\d{1,2})\.?\s*([a-z]{3,9})", re.ASCII | re.IGNORECASE)
_MONTH_FIRST = re.compile(r"([a-z]{3,9})\s*(\d{1,2})", re.ASCII | re.IGNORECASE)


def is_day_of_year(day: int) -> bool:
    """Return whether month x 100 + day is a day of some year.

    >>> is_day_of_year(229), is_day_of_year(631)
    (True, False)
    """
    try:
        date(_LEAP_YEAR, day // 100, day % 100)
    except ValueError:
        return False
    return True


def day_of_year_read(text: str) -> int:
    """Return month x 100 + day of a day as people write it.

    >>> day_of_year_read("15 May"), day_of_year_read("Sept 1")
    (515, 901)

    Raises
    ------
    ValueError: it is no day of any year.
    """
    written = text.strip()
    if found := _DAY_FIRST.fullmatch(written):
        day, word = found.groups()
    elif found := _MONTH_FIRST.fullmatch(written):
        word, day = found.groups()
    else:
        raise ValueError(text)
    months = [
        number
        for number, name in enumerate(MONTHS, start=1)
        if name.lower().startswith(word.lower())
    ]
    if len(months) != 1 or not is_day_of_year(months[0] * 100 + int(day)):
        raise ValueError(text)
    return months[0] * 100 + int(day)


def day_of_year_written(day: int) -> str:
    """Return month x 100 + day as people write it.

    >>> day_of_year_written(515)
    '15 May'
    """
    return f"{day % 100} {MONTHS[day // 100 - 1]}"
