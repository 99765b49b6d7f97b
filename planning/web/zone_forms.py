"""The form of a dispatch zone."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from boxwort.days_of_year import day_of_year_read, day_of_year_written
from boxwort.quantities import Measure
from boxwort.web.degrees import DegreesField
from boxwort.web.numbers import WholeField
from boxwort.web.weekdays import WeekdaysField
from inventory.models import Item, ItemKind
from inventory.models.codes import CODE_LENGTH
from planning.models import DispatchZone


class DayOfYearField(forms.CharField):
    """A day of any year, such as 15 May, kept as month x 100 + day."""

    def clean(self, value: Any) -> Any:
        """Return the day; an empty box is None."""
        text = super().clean(value)
        try:
            return day_of_year_read(text) if text else None
        except ValueError:
            msg = "Write day and month, such as 15 May."
            raise ValidationError(msg, code="not-a-day-of-year") from None


class ZoneForm(forms.Form):
    """Where boxes go, when they leave for it, and how warm it is on the way."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False)
    code = forms.CharField(label="Code", max_length=CODE_LENGTH, help_text="For good.")
    name = forms.CharField(label="Name", max_length=80)
    transit_days = WholeField(label="Days on the way")
    ship_weekdays = WeekdaysField(label="Boxes leave on")
    warm_from = DayOfYearField(
        label="Warm season from",
        required=False,
        help_text="Such as 15 May; empty where no season is warm.",
    )
    warm_until = DayOfYearField(label="Warm season until", required=False)
    ice_item = forms.ModelChoiceField(
        Item.objects.none(), label="Ice pack", required=False, empty_label="none"
    )
    ice_packs = WholeField(
        label="Ice packs in a box",
        required=False,
        help_text="In the warm season, where the box holds liquid yeast.",
    )
    active = forms.BooleanField(
        label="In use", required=False, help_text="What is not in use takes no new orders."
    )

    def __init__(self, zone: DispatchZone | None, units: str, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, label in (
            ("temperature_c", "On the way"),
            ("warm_temperature_c", "On the way in the warm season"),
        ):
            self.fields[name] = DegreesField(system=units, label=label)
        ice = Item.objects.filter(kind=ItemKind.PACKAGING, measure=Measure.COUNT, active=True)
        self.fields["ice_item"].queryset = ice.order_by("name")  # type: ignore[attr-defined]
        self._begin(zone or DispatchZone(), known=zone is not None)

    def _begin(self, zone: DispatchZone, *, known: bool) -> None:
        if known:
            del self.fields["code"]
        else:
            del self.fields["active"]
        for name, bound in self.fields.items():
            value = getattr(zone, name)
            if isinstance(bound, DegreesField):
                value = bound.typed(value)
            elif isinstance(bound, DayOfYearField):
                value = day_of_year_written(value) if value else ""
            self.initial[name] = value
        self.order_fields(
            (
                "version", "code", "name", "transit_days", "ship_weekdays", "temperature_c",
                "warm_temperature_c", "warm_from", "warm_until", "ice_item", "ice_packs", "active",
            )
        )  # fmt: skip

    def clean_code(self) -> str:
        """Return the code in capitals."""
        return str(self.cleaned_data["code"]).upper()

    def clean_ice_packs(self) -> int:
        """Return no packs for an empty box."""
        return int(self.cleaned_data["ice_packs"] or 0)

    def facts(self) -> dict[str, Any]:
        """Return the zone as the service takes it."""
        return {name: said for name, said in self.cleaned_data.items() if name != "version"}
