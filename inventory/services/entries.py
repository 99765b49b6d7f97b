"""What people type, checked before the ledger sees it: each fault is a refusal with a remedy."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date

from django.utils import timezone

from boxwort.errors import Refusal
from boxwort.quantities import Measure, amount_in, natural_unit, shown, unit_named
from inventory.models import Item, Lot
from inventory.models.codes import CODE_LENGTH, code_validator

KEY_LENGTH = 80
REASON_LENGTH = 200


def check_code(code: str, of_what: str) -> None:
    """Refuse a code that cannot go on a label."""
    if not re.fullmatch(code_validator.regex, code):
        raise Refusal(
            "code-not-valid",
            f"{code!r} cannot be the code of {of_what}.",
            f"Write 1 to {CODE_LENGTH} characters from A-Z, 0-9 and hyphen.",
        )


def check_quantity(quantity: int, what: str) -> None:
    """Refuse a quantity that is not a whole number above zero."""
    if quantity <= 0:
        raise Refusal(
            "quantity-not-positive",
            f"The quantity to {what} is {quantity}.",
            "Give a quantity of more than zero.",
        )


def check_not_negative(quantity: int, what: str) -> None:
    """Refuse a quantity below zero."""
    if quantity < 0:
        raise Refusal(
            "quantity-negative",
            f"The quantity {what} is {quantity}.",
            "Give zero or more.",
        )


def check_within(value: float, limits: tuple[float, float], what: str) -> None:
    """Refuse a measured value outside what is possible (both limits are)."""
    least, most = limits
    if not least <= value <= most:
        raise Refusal(
            "value-not-possible",
            f"The {what} was given as {value:g}.",
            f"Give a value from {least:g} to {most:g}.",
        )


def check_text(text: str, longest: int, what: str) -> None:
    """Refuse a text longer than its column."""
    if len(text) > longest:
        raise Refusal(
            "text-too-long",
            f"{what} has {len(text)} characters.",
            f"Shorten it to {longest}.",
        )


def check_not_to_come(day: date, what: str) -> None:
    """Refuse a day after today, in the site's time zone: the books hold what has happened."""
    today = timezone.localdate()
    if day > today:
        raise Refusal(
            "date-to-come",
            f"The {what} is dated {day}, and today is {today}.",
            "Give the day it happened; day and month may have been swapped.",
        )


def check_reason(reason: str) -> None:
    """Refuse an act on stock without a reason that others can read."""
    if not reason.strip():
        raise Refusal(
            "reason-missing",
            "No reason was given.",
            "Say why in a few words; others will read it in the history.",
        )
    check_text(reason, REASON_LENGTH, "The reason")


def check_key(key: str) -> None:
    """Refuse a request key that cannot tell a repeat from something new."""
    if not 0 < len(key) <= KEY_LENGTH:
        raise Refusal(
            "key-not-valid",
            f"The request key has {len(key)} characters.",
            f"Send a key of 1 to {KEY_LENGTH} characters with each new posting.",
        )


def check_choice(value: str, choices: Iterable[str], what: str) -> None:
    """Refuse a word that the trade does not use here."""
    known = list(choices)
    if value not in known:
        raise Refusal(
            "word-not-known",
            f"{value!r} is no {what}.",
            f"Use one of: {', '.join(word for word in known if word)}.",
        )


def check_dates(*, packaged_on: date | None, best_before_on: date | None) -> None:
    """Refuse a best-before date that comes before packaging."""
    if packaged_on and best_before_on and best_before_on < packaged_on:
        raise Refusal(
            "best-before-before-packaging",
            f"Best before {best_before_on} is earlier than packaging on {packaged_on}.",
            "Read both dates on the pack again; day and month may have been swapped.",
        )


def amount(quantity: int, item: Item) -> str:
    """Return a quantity of an item with its unit, exact, for a sentence.

    Decimals are added where rounding would make two different quantities look alike.
    """
    symbol = natural_unit(quantity, Measure(item.measure), "metric")
    exponent = int(amount_in(quantity, symbol).normalize().as_tuple().exponent)
    return shown(quantity, symbol, decimals=max(unit_named(symbol).decimals, -exponent))


def lot_facts(lot: Lot, **figures: int) -> dict[str, object]:
    """Return the machine-readable facts of a refusal about a lot."""
    return {"lot_id": lot.pk, "lot": lot.code, "item": lot.item.code, **figures}
