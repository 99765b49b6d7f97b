"""How figures are written for reading: one way for pages, tables and documents.

Dates are written so that nobody can swap day and month. A figure carries its unit, with a
no-break space between, so that a line never ends between the two.

>>> [text.replace(NO_BREAK, " ") for text in (on_date(date(2026, 11, 25)), share(0.0525))]
['25 Nov 2026', '5.3 %']
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal

NO_BREAK = "\N{NO-BREAK SPACE}"
MINUS = "\N{MINUS SIGN}"
MONEY_SCALE = 4  # money is whole ten-thousandths
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def rounded(value: float, decimals: int) -> str:
    """Return a number half up to so many decimals, thousands apart, with a true minus sign."""
    step = Decimal(1).scaleb(-decimals)
    written = f"{Decimal(repr(float(value))).quantize(step, rounding=ROUND_HALF_UP):,f}"
    return written.replace("-", MINUS) if Decimal(written.replace(",", "")) else f"{step * 0:f}"


def with_unit(value: float, decimals: int, unit: str) -> str:
    """Return a rounded number and its unit."""
    return f"{rounded(value, decimals)}{NO_BREAK}{unit}" if unit else rounded(value, decimals)


def legible(value: float) -> str:
    """Return a number of a working to five significant figures, without an exponent if it can.

    >>> legible(0.0000012345678), legible(1.0521499), legible(184_300_000_000.0)
    ('1.2346e-06', '1.0521', '184,300,000,000')
    """
    if value == 0 or 1e-4 <= abs(value) < 1e5:
        plain = f"{value:.5g}"
    elif abs(value) >= 1e5:
        plain = f"{value:,.0f}"
    else:
        plain = f"{value:.4e}"
    return plain.replace("-", MINUS, 1) if plain.startswith("-") else plain


def share(value: float, decimals: int = 1) -> str:
    """Return a share of one as percent: 0.05 is 5.0 %."""
    return with_unit(value * 100, decimals, "%")


def money(ten_thousandths: int, currency: str) -> str:
    """Return an amount of money with two decimals, or up to four where it has them."""
    amount = Decimal(ten_thousandths).scaleb(-MONEY_SCALE)
    cents = amount.quantize(Decimal("0.01"), rounding=ROUND_HALF_UP)
    written = f"{cents:,f}" if cents == amount else f"{amount:,f}".rstrip("0")
    return f"{written.replace('-', MINUS)}{NO_BREAK}{currency}"


def cells(count: float) -> str:
    """Return a number of yeast cells in thousand million, as brewers read it.

    >>> cells(1.84e11).replace(NO_BREAK, " ")
    '184 billion cells'
    """
    return with_unit(count / 1e9, 0, "billion cells")


def temperature(celsius: float, system: str) -> str:
    """Return a temperature in the degrees of a unit system ("metric" or "us").

    >>> temperature(20, "us").replace(NO_BREAK, " ")
    '68 °F'
    """
    if system == "us":
        return with_unit(celsius * 9 / 5 + 32, 0, "°F")
    return with_unit(celsius, 0, "°C")


def on_date(day: date) -> str:
    """Return a day as 25 Nov 2026."""
    return NO_BREAK.join((str(day.day), _MONTHS[day.month - 1], str(day.year)))


def at_time(moment: datetime) -> str:
    """Return an instant, given in the site's time zone, as 25 Nov 2026 14:05."""
    return f"{on_date(moment)}{NO_BREAK}{moment:%H:%M}"


def days_away(day: date, today: date) -> str:
    """Return how far a day is from today, in whole days.

    >>> days_away(date(2026, 11, 25), date(2026, 11, 28))
    '3 days ago'
    """
    days = (day - today).days
    near = {-1: "yesterday", 0: "today", 1: "tomorrow"}
    if days in near:
        return near[days]
    return f"in {days:,} days" if days > 0 else f"{-days:,} days ago"


def time_ago(moment: datetime, now: datetime) -> str:
    """Return how long ago an instant was, in the largest whole unit up to days."""
    gone = max(now - moment, timedelta(0))
    for unit, length in (
        ("day", timedelta(days=1)),
        ("hour", timedelta(hours=1)),
        ("minute", timedelta(minutes=1)),
    ):
        if count := gone // length:
            return f"{count:,} {unit}{'s' if count != 1 else ''} ago"
    return "just now"
