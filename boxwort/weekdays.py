"""Weekdays as they are kept and as people write them; pure.

They are kept as their numbers in order, 0 for Monday: ``"01234"`` is Monday to Friday.
"""

from __future__ import annotations

import re

NAMES = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
EVERY_DAY = "0123456"
_EVERY_DAY_WORDS = ("every day", "daily", "all")


def weekdays_written(weekdays: str) -> str:
    """Return kept weekdays in words.

    >>> weekdays_written("024"), weekdays_written("0123456")
    ('Mon Wed Fri', 'every day')
    """
    if weekdays == EVERY_DAY:
        return _EVERY_DAY_WORDS[0]
    return " ".join(NAMES[int(number)] for number in weekdays)


def weekdays_read(text: str) -> str:
    """Return weekdays that somebody wrote, whole or by their first three letters, as they are kept.

    Spaces, commas, "and" or a slash part them; a hyphen between two is from one to the other.

    >>> weekdays_read("Mon, wednesday and Fri"), weekdays_read("Tue-Thu")
    ('024', '123')

    Raises
    ------
    ValueError: a word is no weekday, or there is none.
    """
    plainly = text.strip().casefold()
    if plainly in _EVERY_DAY_WORDS:
        return EVERY_DAY
    closed = re.sub(r"\s*[-\u2013]\s*", "-", plainly)
    words = [word for word in re.split(r"[\s,;/&]+", closed) if word and word != "and"]
    if not words:
        msg = "no weekday is named"
        raise ValueError(msg)
    return "".join(sorted({number for word in words for number in _days_of(word)}))


def _days_of(word: str) -> str:
    first, _, last = word.partition("-")
    start, end = _number(first), _number(last or first)
    if start > end:
        return EVERY_DAY[start:] + EVERY_DAY[: end + 1]
    return EVERY_DAY[start : end + 1]


def _number(word: str) -> int:
    for number, name in enumerate(NAMES):
        if word[:3] == name.casefold() and _WHOLE[number].startswith(word):
            return number
    msg = f"{word!r} is no weekday"
    raise ValueError(msg)


_WHOLE = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
