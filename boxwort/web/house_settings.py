"""The house settings, kept by the owner: the producer, packing, hops, and the way to a customer."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from boxwort.accounts.days_off import days_off
from boxwort.accounts.house import LIMITS, SHARES, change_house
from boxwort.accounts.models import PACKING_CHOICES, PRIMING_RULE_CHOICES, SiteSettings
from boxwort.accounts.queries import history_of, site_settings
from boxwort.quantities import Measure, amount_in
from boxwort.roles import Right
from boxwort.web.amounts import AmountField
from boxwort.web.days_off import DayOffForm
from boxwort.web.degrees import DegreesField
from boxwort.web.doors import SignedInRequest, onward, page
from boxwort.web.numbers import PercentField
from boxwort.web.submitting import submitted
from boxwort.web.weekdays import WeekdaysField
from boxwort.weekdays import weekdays_written

#: The parts of the page: title, what to know, and the settings.
PARTS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("The house", "Stands on every page and paper.", ("producer", "currency")),
    (
        "Weighing and packing",
        "For what is weighed from now on. Weights that are reserved stay until they are balanced "
        "again and a proposal is accepted.",
        (
            *("pouch_resolution_mg", "scale_division_mg", "minimum_batch_kits"),
            *("pouch_packing", "pouch_temperature_c", "most_multiple"),
        ),
    ),
    (
        "Hops by form",
        "Utilisation relative to pellets; 1 for each until the house has measured its own.",
        ("form_factor_pellet", "form_factor_cone", "form_factor_plug"),
    ),
    (
        "Bottling",
        "Each figure of priming sugar and carbonation names its rule. Papers that were made stay "
        "as they are.",
        ("priming_rule",),
    ),
    (
        "Planning",
        "How far ahead is planned, on which days the house works, and what the plan reckons with.",
        (
            *("working_weekdays", "kits_per_day", "pack_lead_days", "horizon_weeks"),
            *("consume_back_weeks", "consume_forward_weeks"),
            *("holding_share", "forecast_spread", "slow_days"),
        ),
    ),
    (
        "The way to the customer",
        "Yeast in a kit is judged on pitch day: these days and degrees count after packing.",
        (
            *("transit_days", "transit_temperature_c", "yeast_shelf_temperature_c"),
            "starter_billion_per_l",
        ),
    ),
)
HISTORY_SHOWN = 10


class HouseForm(forms.Form):
    """Every setting of the house, as it stands; weights in grams, as on the weigh sheet."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    producer = forms.CharField(label="Producer", max_length=80)
    currency = forms.CharField(
        label="Currency", max_length=3, help_text="Three letters, such as EUR."
    )
    minimum_batch_kits = forms.IntegerField(label="Smallest batch, in kits", min_value=1)
    pouch_packing = forms.ChoiceField(label="How hops lie in the pouch", choices=PACKING_CHOICES)
    form_factor_pellet = forms.FloatField(label="Pellets")
    form_factor_cone = forms.FloatField(label="Whole cones")
    form_factor_plug = forms.FloatField(label="Plugs")
    most_multiple = forms.FloatField(
        label="Most of a hop, in times its written weight",
        help_text="A lot so weak that its hop would weigh more is passed over.",
    )
    priming_rule = forms.ChoiceField(
        label="How much sugar makes carbon dioxide", choices=PRIMING_RULE_CHOICES
    )
    working_weekdays = WeekdaysField(label="The house works on")
    kits_per_day = forms.IntegerField(
        label="Most kits packed in a day",
        min_value=1,
        required=False,
        help_text="Empty: no limit. Suggested runs keep to it.",
    )
    pack_lead_days = forms.IntegerField(
        label="Working days from packing to leaving, in days", min_value=0
    )
    horizon_weeks = forms.IntegerField(label="Planned ahead, in weeks", min_value=1)
    consume_back_weeks = forms.IntegerField(
        label="An order uses the forecast of earlier weeks, in weeks", min_value=0
    )
    consume_forward_weeks = forms.IntegerField(
        label="An order uses the forecast of later weeks, in weeks", min_value=0
    )
    holding_share = PercentField(
        label="Keeping stock for a year costs, in % of its value",
        help_text="Money that lies there, room, cold and loss. Least total cost weighs it against "
        "the cost of an order.",
    )
    forecast_spread = PercentField(
        label="Usual error of a forecast, in %",
        help_text="One standard deviation, as a share of the forecast.",
    )
    slow_days = forms.IntegerField(
        label="Stock is slow after, in days", min_value=1, help_text="Nothing of it was used since."
    )
    transit_days = forms.IntegerField(label="Days on the way", min_value=0)
    starter_billion_per_l = forms.FloatField(
        label="New cells in a litre of starter, in billions",
        help_text="A still starter of about 1.036 grows about 50; a stirred one grows more.",
    )

    def __init__(self, site: SiteSettings, system: str, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.site = site
        for name, label in (
            ("pouch_resolution_mg", "Step of hop pouches, in g"),
            ("scale_division_mg", "Division of the scale, in g"),
        ):
            self.fields[name] = AmountField(measure=Measure.MASS, unit="g", label=label)
            self.initial[name] = _grams(getattr(site, name))
        for name, label in (
            ("pouch_temperature_c", "How warm a pouch lies"),
            ("transit_temperature_c", "How warm it is on the way"),
            ("yeast_shelf_temperature_c", "How warm the customer keeps yeast"),
        ):
            degrees = DegreesField(system=system, label=label)
            self.fields[name] = degrees
            self.initial[name] = degrees.typed(getattr(site, name))
        for name in SHARES:
            self.initial[name] = PercentField().typed(getattr(site, name))
        self.initial["working_weekdays"] = list(site.working_weekdays)
        for name in self.fields.keys() - self.initial.keys():
            standing = getattr(site, name)
            self.initial[name] = "" if standing is None else standing

    def clean_currency(self) -> str:
        """Return the code in capitals."""
        return str(self.cleaned_data["currency"]).upper()

    def settings(self) -> dict[str, Any]:
        """Return what was changed on the form; a box left as it was is left as it is."""
        return {
            name: value
            for name, value in self.cleaned_data.items()
            if name in self.changed_data and name != "version"
        }

    def parts(self) -> list[dict[str, Any]]:
        """Return the boxes in the parts of the page."""
        return [
            {"title": title, "note": note, "boxes": [self[name] for name in names]}
            for title, note, names in PARTS
        ]


@page(Right.KEEP_HOUSE, methods=("GET", "POST"))
def house_settings(request: SignedInRequest) -> HttpResponse:
    """Show the settings of the house, and change them."""
    site = site_settings()
    if request.method != "POST":
        return _shown(request, HouseForm(site, request.user.units))
    form = HouseForm(site, request.user.units, request.POST)

    def work() -> dict[str, Any]:
        changed = change_house(
            by=request.user, expected=form.cleaned_data["version"], settings=form.settings()
        )
        return {"version": changed.version}

    done = submitted(request, form, work)
    if done.answer is None:
        return _shown(request, form, status=done.status)
    messages.success(request, "The settings are kept.")
    return onward(request, "house-settings")


def _shown(request: SignedInRequest, form: HouseForm, status: int = HTTPStatus.OK) -> HttpResponse:
    labels = {name: str(field.label) for name, field in form.fields.items()}
    rows = [
        {"at": row.at, "by": row.by, "changes": _changes(row.before, row.after, labels)}
        for row in history_of("accounts.sitesettings", form.site.pk, most=HISTORY_SHOWN)
        if row.action == "write-settings"
    ]
    context = {
        "form": form,
        "history": rows,
        "days_off": days_off(from_on=timezone.localdate()),
        "day_form": DayOffForm(auto_id="day_%s"),
    }
    return render(request, "web/house_settings.html", context, status=status)


def _changes(
    before: Mapping[str, Any], after: Mapping[str, Any], labels: Mapping[str, str]
) -> list[dict[str, Any]]:
    """Return what was changed, in the units that it is kept in."""
    return [
        {
            "what": labels[name].partition(", in ")[0],
            "unit": LIMITS[name][1] if name in LIMITS else "",
            "before": _told(name, before[name]),
            "after": _told(name, value),
        }
        for name, value in after.items()
        if name in labels
    ]


def _told(name: str, value: Any) -> Any:
    """Return a setting as people read it."""
    if name in SHARES:
        return PercentField().typed(value)
    if name == "working_weekdays":
        return weekdays_written(value)
    return "no limit" if value is None else value


def _grams(amount_mg: int) -> str:
    """Return milligrams as grams, without zeros at the end."""
    written = f"{amount_in(amount_mg, 'g'):f}"
    return written.rstrip("0").rstrip(".") if Decimal(written) % 1 else str(int(Decimal(written)))
