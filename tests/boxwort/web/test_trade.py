"""Figures on a page carry their units, and open to their working."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from types import SimpleNamespace
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django import forms
from django.template import Context, Template
from django.utils import timezone

from boxwort import figures
from boxwort.accounts.models import User
from boxwort.working import Term, Working

BITTERNESS = Working(
    name="Bitterness",
    formula="IBU = sum of additions",
    terms=(Term(name="additions <2>", value=2.0, unit=""),),
    value=31.2345678,
    unit="IBU",
    source="Tinseth",
    notes=("Alpha is from memory",),
    parts=(
        Working(
            name="At 60 min", formula="U A W / V", terms=(), value=25.0, unit="IBU", source="T"
        ),
    ),
)


def written(template: str, **context: Any) -> str:
    return Template(template).render(Context(context)).replace(figures.NO_BREAK, " ").strip()


@pytest.mark.parametrize(
    ("template", "value", "text"),
    [
        ("{{ v|shown:'lb' }}", 453_592_370, "1,000.000 lb"),
        ("{{ v|grams }}", 28_350, "28.4 g"),
        ("{{ v|grams:2 }}", 28_350, "28.35 g"),
        ("{{ v|money:'USD' }}", 12_345_600, "1,234.56 USD"),
        ("{{ v|money:'USD' }}", 12_345, "1.2345 USD"),
        ("{{ v|money:'USD' }}", -5_000, "\N{MINUS SIGN}0.50 USD"),
        ("{{ v|share }}", 0.0525, "5.3 %"),
        ("{{ v|share:0 }}", 1.0, "100 %"),
        ("{{ v|sg }}", 1.0525, "1.053"),
        ("{{ v|plato }}", 12.04, "12.0 °P"),
        ("{{ v|ibu }}", 38.25, "38.3 IBU"),
        ("{{ v|abv }}", 0.052, "5.2 % ABV"),
        ("{{ v|srm }}", 8.0, "8.0 SRM"),
        ("{{ v|ebc }}", 15.8, "16 EBC"),
        ("{{ v|cells }}", 1.8e11, "180 billion cells"),
        ("{{ v|number }}", 1234567, "1,234,567"),
        ("{{ v|number:1 }}", -0.04, "0.0"),
    ],
)
def test_a_figure_is_rounded_half_up_and_carries_its_unit(
    template: str, value: float, text: str
) -> None:
    assert written(template, v=value) == text


@pytest.mark.parametrize(
    "name", ["grams", "share", "sg", "ibu", "cells", "on_date", "at_time", "ago"]
)
def test_an_unknown_figure_is_a_dash_and_not_zero(name: str) -> None:
    assert written(f"{{{{ v|{name} }}}}", v=None) == "\N{EN DASH}"


@pytest.mark.parametrize(
    ("units", "text"), [("metric", "12.500 kg 20 °C"), ("us", "27.558 lb 68 °F")]
)
def test_a_quantity_is_read_in_the_units_of_the_person(units: str, text: str) -> None:
    template = "{% quantity q 'mass' %} {% temperature 20 %}"
    assert written(template, q=12_500_000, user=SimpleNamespace(units=units)) == text


def test_a_date_cannot_be_read_two_ways() -> None:
    text = written("{{ v|on_date }}", v=date(2026, 11, 5))
    assert text == '<time datetime="2026-11-05">5 Nov 2026</time>'


def test_an_instant_is_told_in_the_time_of_the_site() -> None:
    moment = datetime(2026, 11, 25, 23, 30, tzinfo=ZoneInfo("UTC"))
    with timezone.override("Europe/Athens"):
        text = written("{{ v|at_time }}", v=moment)
    assert text == '<time datetime="2026-11-26T01:30:00+02:00">26 Nov 2026 01:30</time>'


@pytest.mark.parametrize(
    ("days", "text"),
    [(-400, "400 days ago"), (-1, "yesterday"), (0, "today"), (1, "tomorrow"), (9, "in 9 days")],
)
def test_a_day_is_told_by_its_distance(days: int, text: str) -> None:
    today = date(2026, 3, 1)
    assert figures.days_away(today + timedelta(days=days), today) == text


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (-5, "just now"),
        (59, "just now"),
        (60, "1 minute ago"),
        (7300, "2 hours ago"),
        (9e5, "10 days ago"),
    ],
)
def test_an_instant_is_told_by_its_distance(seconds: float, text: str) -> None:
    now = datetime(2026, 3, 1, tzinfo=ZoneInfo("UTC"))
    assert figures.time_ago(now - timedelta(seconds=seconds), now) == text


@pytest.mark.parametrize(
    ("state", "tone", "word"),
    [
        ("released", "good", "Released"),
        ("on-hold", "bad", "On hold"),
        ("planned", "quiet", "Planned"),
    ],
)
def test_a_state_is_a_word_first_and_a_colour_second(state: str, tone: str, word: str) -> None:
    text = written("{% state_badge s %}", s=state)
    assert text == f'<span class="badge badge-{tone}">{word}</span>'


@pytest.mark.parametrize("figure", [BITTERNESS, BITTERNESS.as_json()])
def test_a_figure_opens_to_its_formula_terms_source_and_parts(figure: object) -> None:
    text = written("{% working f %}", f=figure)
    for part in (
        "31.235 IBU",
        "IBU = sum of additions",
        "additions &lt;2&gt;",
        "Alpha is from memory",
    ):
        assert part in text
    assert text.count("<details") == 2
    assert "At 60 min" in text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (0.00012345678, "0.00012346"),
        (1e-5, "1.0000e-05"),
        (-2.5, "\N{MINUS SIGN}2.5"),
        (1e6, "1,000,000"),
    ],
)
def test_a_number_of_a_working_has_five_figures(value: float, text: str) -> None:
    assert figures.legible(value) == text


def test_every_form_shown_gets_a_key_of_its_own() -> None:
    first, second = written("{% request_key %}"), written("{% request_key %}")
    assert 'name="request_key"' in first
    assert first != second


def test_an_error_is_tied_to_its_field_for_a_screen_reader() -> None:
    class Count(forms.Form):
        kits = forms.IntegerField(min_value=1, help_text="Whole boxes.")

    text = written("{% field form.kits %}", form=Count({"kits": "0"}))
    assert 'aria-describedby="id_kits_helptext id_kits_error"' in text
    assert 'aria-invalid="true"' in text
    assert 'id="id_kits_helptext"' in text
    assert 'id="id_kits_error"' in text
    assert '<label for="id_kits">' in text


def test_a_right_that_does_not_exist_is_a_loud_mistake() -> None:
    with pytest.raises(ValueError, match="not a valid Right"):
        written("{% if user|may:'reserve-runs' %}yes{% endif %}", user=User(role="owner"))
