"""One cell of a spreadsheet, read as what its column holds.

A reader takes a :class:`Cell` and returns the value, or raises :class:`Unreadable` saying what is
wrong and what to write instead. Readers never see an empty cell. Text is stored as it stands, also
where it begins with = + - or @: it is never worked out.

>>> percent(Cell(value=5.5, number_format="0.0"))
0.055
>>> percent(Cell(value=0.055, number_format="0.0%"))  # the sheet shows 5.5 %
0.055
>>> choice({"all_grain": "All-grain", "extract": "Extract"})(Cell(value="all grain"))
'all_grain'
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from typing import Any

from boxwort.quantities import Unit, stocked, unit_named
from boxwort.weekdays import weekdays_read

LONGEST_TEXT = 4000
_CODE = re.compile(r"[A-Z0-9][A-Z0-9-]{0,19}")
_YES_NO = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}
_BIGGEST_NUMBER = Decimal(10) ** 15


class Unreadable(ValueError):  # noqa: N818 - what is wrong with a cell, not a fault
    """What is wrong with a cell, and what to write instead."""

    def __init__(self, what: str, remedy: str) -> None:
        super().__init__(f"{what} {remedy}")
        self.what = what
        self.remedy = remedy


@dataclass(frozen=True, kw_only=True)
class Cell:
    """A cell as the file holds it: its value, how it is shown, whether it is a formula."""

    value: Any
    number_format: str = "General"
    is_formula: bool = False
    is_error: bool = False

    @property
    def empty(self) -> bool:
        """Return whether nothing is written in it."""
        return self.value is None or (isinstance(self.value, str) and not self.value.strip())

    @property
    def shown(self) -> str:
        """Return what a person would recognise the cell by, at most 60 characters."""
        value = self.value
        if isinstance(value, datetime) and value.time() == time():
            value = value.date()
        if isinstance(value, float) and value.is_integer():
            value = int(value)
        text = "" if value is None else str(value)
        return text if len(text) <= 60 else f"{text[:59]}\N{HORIZONTAL ELLIPSIS}"


Reader = Callable[[Cell], Any]


def text(longest: int = 200) -> Reader:
    """Return the reader of text of at most ``longest`` characters, without control characters."""

    def read(cell: Cell) -> str:
        written = _text_of(cell)
        if len(written) > longest:
            what = f"The text has {len(written)} characters."
            raise Unreadable(what, f"Shorten it to {longest}.")
        return written

    return read


def code(cell: Cell) -> str:
    """Return a code, in capitals."""
    written = _text_of(cell).upper()
    if not _CODE.fullmatch(written):
        what = "This is not a code."
        raise Unreadable(what, "Write 1 to 20 characters from A-Z, 0-9 and hyphen.")
    return written


def choice(words: Mapping[str, str]) -> Reader:
    """Return the reader of one of a few words; either the stored or the written word will do."""
    known = {_plainly(word): stored for stored, word in words.items()}
    known |= {_plainly(stored): stored for stored in words}
    offered = ", ".join(words.values())

    def read(cell: Cell) -> str:
        stored = known.get(_plainly(_text_of(cell)))
        if stored is None:
            what = "This is not one of the words known here."
            raise Unreadable(what, f"Write one of: {offered}.")
        return stored

    return read


def words(known: tuple[str, ...]) -> Reader:
    """Return the reader of several words with commas between them, each one of ``known``."""
    one = choice({word: word for word in known})

    def read(cell: Cell) -> tuple[str, ...]:
        named = [part for part in _text_of(cell).split(",") if part.strip()]
        return tuple(sorted({one(Cell(value=part)) for part in named}))

    return read


def yes_no(cell: Cell) -> bool:
    """Return True for yes and False for no."""
    if isinstance(cell.value, bool):
        return cell.value
    answer = _YES_NO.get(_text_of(cell).casefold())
    if answer is None:
        what = "This is neither yes nor no."
        raise Unreadable(what, "Write yes or no.")
    return answer


def decimal(*, least: float | None = None, most: float | None = None) -> Reader:
    """Return the reader of an exact number within limits (inclusive)."""

    def read(cell: Cell) -> Decimal:
        number = _number_of(cell)
        _within(number, least, most)
        return number

    return read


def positive(cell: Cell) -> Decimal:
    """Return an exact number above zero."""
    number = _number_of(cell)
    if number <= 0:
        what = f"{number:f} is not more than zero."
        raise Unreadable(what, "Write a number above zero.")
    return number


def measured(*, least: float | None = None, most: float | None = None, factor: float = 1) -> Reader:
    """Return the reader of a measured property, times ``factor`` into the unit it is kept in."""

    def read(cell: Cell) -> float:
        number = _number_of(cell)
        _within(number, least, most)
        return float(number * Decimal(str(factor)))

    return read


def whole(*, least: int = 0, most: int = 1_000_000) -> Reader:
    """Return the reader of a whole number within limits (inclusive)."""

    def read(cell: Cell) -> int:
        number = _number_of(cell)
        if number != number.to_integral_value():
            what = f"{number:f} is not a whole number."
            raise Unreadable(what, "Write a whole number.")
        _within(number, least, most)
        return int(number)

    return read


def percent(cell: Cell) -> float:
    """Return a percentage as a share, 0-1, whether typed as 5.5 or formatted by the sheet."""
    number = _number_of(cell)
    if "%" not in cell.number_format:
        number /= 100
    if not 0 <= number <= 1:
        what = f"{float(number):.4g} of a whole is not between 0 and 100 %."
        raise Unreadable(what, "Write a percentage from 0 to 100.")
    return float(number)


def stock_of(symbol: str) -> Reader:
    """Return the reader of an amount above zero in one unit, as whole units of stock."""

    def read(cell: Cell) -> int:
        return stocked(positive(cell), symbol)

    return read


def fahrenheit(cell: Cell) -> float:
    """Return a temperature written in degrees F, in degrees C."""
    return float((_number_of(cell) - 32) / Decimal("1.8"))


def as_shown(cell: Cell) -> Decimal:
    """Return a number as the sheet shows it: a cell formatted as 5.5 % is 5.5."""
    number = _number_of(cell)
    _within(number, 0, None)
    return number * 100 if "%" in cell.number_format else number


def money(cell: Cell) -> int:
    """Return an amount of money in ten-thousandths of the currency."""
    number = _number_of(cell)
    _within(number, 0, None)
    return int((number * 10_000).to_integral_value(rounding=ROUND_HALF_UP))


def day(cell: Cell) -> date:
    """Return a day, from a real date or from text written 2026-11-23."""
    value = cell.value
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    if isinstance(value, str):
        try:
            return date.fromisoformat(value.strip())
        except ValueError:
            pass
    what = "This is not a date."
    raise Unreadable(what, "Enter a real date, or text as year-month-day (2026-11-23).")


def weekdays(cell: Cell) -> str:
    """Return weekdays, written such as Mon Wed Fri, as they are kept."""
    try:
        return weekdays_read(_text_of(cell))
    except ValueError as problem:
        what = "This is no list of weekdays."
        raise Unreadable(what, "Write them such as Mon Wed Fri, or every day.") from problem


def unit(cell: Cell) -> Unit:
    """Return a unit of the trade (g, kg, oz, lb, mL, L, US gal, each)."""
    try:
        return unit_named(_text_of(cell))
    except ValueError as problem:
        what = "This is not a unit."
        raise Unreadable(what, f"{str(problem).split('; ')[-1].capitalize()}.") from problem


def _text_of(cell: Cell) -> str:
    value = cell.value
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if not isinstance(value, str | int | float):
        what = "This is not text."
        raise Unreadable(what, "Write text; format the cell as text if it is taken for a date.")
    kept = (c for c in str(value) if c in "\n\t" or unicodedata.category(c) not in ("Cc", "Cs"))
    return "".join(kept).strip()


def _number_of(cell: Cell) -> Decimal:
    value = cell.value
    remedy = "Write a plain number; its unit is in the header."
    if isinstance(value, bool) or not isinstance(value, int | float | str | Decimal):
        what = "This is not a number."
        raise Unreadable(what, remedy)
    try:
        number = Decimal(str(value).strip())
    except InvalidOperation as problem:
        what = "This is not a number."
        raise Unreadable(what, remedy) from problem
    if not math.isfinite(number) or abs(number) >= _BIGGEST_NUMBER:
        what = "This number is beyond what stock is counted in."
        raise Unreadable(what, remedy)
    return number


def _within(number: Decimal, least: float | None, most: float | None) -> None:
    low = least is not None and number < Decimal(str(least))
    high = most is not None and number > Decimal(str(most))
    if not low and not high:
        return
    bound = f"at least {least:g}" if low else f"at most {most:g}"
    what = f"{number:f} is not possible here."
    raise Unreadable(what, f"Write {bound}.")


def _plainly(word: str) -> str:
    return re.sub(r"[\s_-]+", " ", word).strip().casefold()
