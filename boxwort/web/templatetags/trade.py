"""The words and figures of the trade in templates; loaded everywhere as a builtin.

Filters: ``shown`` ``grams`` ``money`` ``share`` ``sg`` ``ibu`` ``abv`` ``srm`` ``ebc`` ``plato``
``number`` ``cells`` ``on_date`` ``at_time`` ``ago`` ``weekdays`` ``may``.
Tags: ``quantity`` ``temperature`` ``state_badge`` ``working`` ``request_key`` ``field`` ``pages``.
A filter given None writes a dash, for an unknown figure is not zero.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping
from datetime import date, datetime
from functools import wraps
from typing import Any

from django import template
from django.forms import BoundField
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from boxwort import figures, quantities
from boxwort.quantities import Measure
from boxwort.roles import Right
from boxwort.web import keys
from boxwort.weekdays import weekdays_written
from boxwort.working import Working

register = template.Library()
UNKNOWN = "\N{EN DASH}"

#: The tone of a state's badge: it says again, in colour, what the word on it says.
TONES: dict[str, str] = {
    **dict.fromkeys(("released", "done", "accepted", "reserved", "offered"), "good"),
    **dict.fromkeys(("closed", "dispatched"), "good"),
    **dict.fromkeys(("quarantine", "open", "running", "packing", "trial", "short"), "wait"),
    **dict.fromkeys(("on hold", "rejected", "failed", "expired", "past due", "late"), "bad"),
}


def known(write: Callable[..., str]) -> Callable[..., str]:
    """Make a filter write a dash for a figure that is not known."""

    @wraps(write)
    def or_dash(value: Any, *args: Any) -> str:
        return UNKNOWN if value is None or value == "" else write(value, *args)

    return or_dash


def _system(context: template.Context) -> str:
    return getattr(context.get("user"), "units", "metric")


@register.simple_tag(takes_context=True)
def quantity(context: template.Context, amount: int | None, measure: str) -> str:
    """Write a stock quantity in the units this person reads: {% quantity row.on_hand "mass" %}."""
    if amount is None:
        return UNKNOWN
    written = quantities.read_naturally(amount, Measure(measure), _system(context))
    return written.replace(" ", figures.NO_BREAK)


@register.simple_tag(takes_context=True)
def temperature(context: template.Context, celsius: float | None) -> str:
    """Write a temperature in the degrees this person reads."""
    return UNKNOWN if celsius is None else figures.temperature(celsius, _system(context))


@register.filter
@known
def shown(amount: int, symbol: str) -> str:
    """Write a stock quantity in a named unit: {{ pack.quantity|shown:"lb" }}."""
    return quantities.shown(amount, symbol).replace(" ", figures.NO_BREAK)


@register.filter
@known
def grams(amount_mg: int, decimals: int = 1) -> str:
    """Write milligrams as the grams of a weigh sheet, whatever units a person reads."""
    return quantities.shown(amount_mg, "g", decimals=decimals).replace(" ", figures.NO_BREAK)


@register.filter
@known
def money(ten_thousandths: int, currency: str) -> str:
    """Write money: {{ line.price|money:site.currency }}."""
    return figures.money(ten_thousandths, currency)


@register.filter
@known
def share(value: float, decimals: int = 1) -> str:
    """Write a share of one as percent."""
    return figures.share(value, decimals)


@register.filter
@known
def number(value: float, decimals: int = 0) -> str:
    """Write a plain number with thousands apart."""
    return figures.rounded(value, decimals)


@register.filter
@known
def sg(value: float) -> str:
    """Write a specific gravity: 1.052."""
    return figures.rounded(value, 3)


@register.filter
@known
def plato(value: float) -> str:
    """Write degrees Plato: 12.5 °P."""
    return figures.with_unit(value, 1, "°P")


@register.filter
@known
def ibu(value: float) -> str:
    """Write bitterness: 38.2 IBU."""
    return figures.with_unit(value, 1, "IBU")


@register.filter
@known
def abv(value: float) -> str:
    """Write alcohol by volume, given as a share of one: 5.2 % ABV."""
    return f"{figures.share(value)}{figures.NO_BREAK}ABV"


@register.filter
@known
def srm(value: float) -> str:
    """Write colour in SRM."""
    return figures.with_unit(value, 1, "SRM")


@register.filter
@known
def ebc(value: float) -> str:
    """Write colour in EBC."""
    return figures.with_unit(value, 0, "EBC")


@register.filter
@known
def cells(value: float) -> str:
    """Write a number of yeast cells."""
    return figures.cells(value)


@register.filter
@known
def on_date(day: date) -> str:
    """Write a day as 25 Nov 2026, with the machine's form beside it."""
    return format_html('<time datetime="{}">{}</time>', day.isoformat(), figures.on_date(day))


@register.filter
@known
def at_time(moment: datetime) -> str:
    """Write an instant in the site's time zone, with the machine's form beside it."""
    local = timezone.localtime(moment)
    return format_html('<time datetime="{}">{}</time>', local.isoformat(), figures.at_time(local))


@register.filter
@known
def ago(then: date) -> str:
    """Write how far a day or an instant is from now."""
    if isinstance(then, datetime):
        return figures.time_ago(then, timezone.now())
    return figures.days_away(then, timezone.localdate())


@register.filter
@known
def weekdays(kept: str) -> str:
    """Write weekdays in words."""
    return weekdays_written(kept)


@register.filter
def may(user: Any, right: str) -> bool:
    """Return whether to show a button: {% if user|may:"reserve-run" %}. The door checks again."""
    return bool(user.may(Right(right)))


@register.simple_tag
def state_badge(state: str, label: str = "") -> SafeString:
    """Write a state as a badge; the word says it, the colour repeats it."""
    word = (label or state).replace("-", " ").replace("_", " ")
    tone = TONES.get(state.replace("-", " ").replace("_", " "), "quiet")
    return format_html('<span class="badge badge-{}">{}</span>', tone, word[:1].upper() + word[1:])


@register.inclusion_tag("web/_working.html")
def working(figure: Working | Mapping[str, Any]) -> dict[str, Any]:
    """Show a figure that opens to its formula, terms, source and parts."""
    opened = figure if isinstance(figure, Working) else Working.from_json(figure)
    return {"figure": opened}


@register.filter
@known
def legible(value: float) -> str:
    """Write a number of a working to five significant figures."""
    return figures.legible(value)


@register.simple_tag
def request_key() -> SafeString:
    """Write the hidden field that lets a form be sent twice and done once."""
    return format_html('<input type="hidden" name="{}" value="{}">', keys.FIELD, uuid.uuid4())


@register.inclusion_tag("web/_field.html")
def field(bound: BoundField) -> dict[str, Any]:
    """Show a form's field: label, help, box and errors, tied together for screen readers."""
    return {"field": bound}


@register.inclusion_tag("web/_pages.html", takes_context=True)
def pages(context: template.Context, page: Any) -> dict[str, Any]:
    """Show the links to the other pages of a list, keeping its filters."""
    return {"page": page, "request": context["request"]}
