"""How an item is ordered and how much of it is kept for safety; and the crops of a hop."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from boxwort.accounts.models import User
from boxwort.accounts.queries import site_settings
from boxwort.quantities import MG_PER_KG, Measure, natural_unit
from boxwort.roles import Right
from boxwort.web.amounts import AmountField, exact_amount
from boxwort.web.days import DayInput
from boxwort.web.doors import SignedInRequest, page
from boxwort.web.kept import Words, kept
from boxwort.web.money import MoneyField
from boxwort.web.numbers import PercentField
from inventory.models import CropYear, Item, LotRule
from inventory.services.crops import remove_crop, write_crop
from inventory.services.order_rules import OrderRules, change_order_rules


class OrderingForm(forms.Form):
    """The lot rule of an item with what it needs, and the safety stock."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    lot_rule = forms.ChoiceField(label="What is ordered at a time", choices=LotRule.choices)
    period_days = forms.IntegerField(
        label="An order covers, days",
        required=False,
        min_value=0,
        help_text="Empty: as long as it keeps.",
    )
    quarantine_days = forms.IntegerField(
        label="Checked before use, days",
        min_value=0,
        help_text="What arrives can be used so many days later.",
    )

    def __init__(self, item: Item, person: User, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        measure = Measure(item.measure)
        unit = natural_unit(item.safety_stock or 100 * MG_PER_KG, measure, person.units)
        for name, label, required in (
            ("safety_stock", "Safety stock", True),
            ("fixed_quantity", "A fixed quantity of", False),
        ):
            said = f"{label}, in {'pieces' if measure is Measure.COUNT else unit}"
            self.fields[name] = AmountField(
                measure=measure, unit=unit, label=said, required=required
            )
            standing = getattr(item, name)
            if standing is not None:
                self.initial[name] = exact_amount(standing, measure, person.units)
        cost = MoneyField(
            label=f"What an order costs, in {site_settings().currency}",
            help_text="Writing, paying and taking it in. Least total cost weighs it against the "
            "keeping of stock.",
        )
        self.fields["order_cost"] = cost
        self.initial["order_cost"] = cost.typed(item.order_cost)
        for name in ("version", "lot_rule", "period_days", "quarantine_days"):
            self.initial[name] = getattr(item, name)
        self.order_fields(
            ("version", "safety_stock", "lot_rule", "fixed_quantity", "period_days", "order_cost")
        )

    def clean(self) -> dict[str, Any]:
        """Put what cannot be ordered by at its box."""
        typed: dict[str, Any] = super().clean() or self.cleaned_data
        if not self.errors:
            for name, what, remedy in self.rules().problems():
                self.add_error(name, f"{what} {remedy}")
        return typed

    def rules(self) -> OrderRules:
        """Return how it is ordered."""
        typed = self.cleaned_data
        names = ("lot_rule", "fixed_quantity", "period_days", "order_cost", "quarantine_days")
        return OrderRules(**{name: typed[name] for name in names})


class CropForm(forms.Form):
    """A crop of a hop: its year, the day it is sold from, and the alpha acid to plan with."""

    year = forms.IntegerField(label="Year of the crop", min_value=2000, max_value=2100)
    from_on = forms.DateField(
        label="Sold from", widget=DayInput, help_text="Deliveries from this day on are of it."
    )
    planning_alpha = PercentField(label="Alpha acid to plan with, %")


@page(Right.KEEP_CATALOGUE, methods=("GET", "POST"))
def item_ordering(request: SignedInRequest, item_id: int) -> HttpResponse:
    """Change how an item is ordered, and its safety stock."""
    item = get_object_or_404(Item, pk=item_id)

    def write(form: OrderingForm) -> dict[str, Any]:
        changed = change_order_rules(
            by=request.user,
            item=item,
            expected=form.cleaned_data["version"],
            rules=form.rules(),
            safety_stock=form.cleaned_data["safety_stock"],
        )
        return {"item": changed.pk}

    words = Words(
        title="How it is ordered",
        thing=item.name,
        back=reverse("item-detail", args=[item.pk]),
        what="The plan turns what is needed of it into orders by these. Packs and minimums of the "
        "offer, and how long it keeps, hold beside any rule.",
        button="Keep it so",
        said="How it is ordered is kept.",
    )
    return kept(request, lambda *sent: OrderingForm(item, request.user, *sent), write, words)


@page(Right.KEEP_CATALOGUE, methods=("GET", "POST"))
def crop_new(request: SignedInRequest, item_id: int) -> HttpResponse:
    """Note a crop of a hop; that of a year which is known is changed."""
    item = get_object_or_404(Item.objects.filter(hop__isnull=False), pk=item_id)

    def write(form: CropForm) -> dict[str, Any]:
        crop = write_crop(by=request.user, item=item, **form.cleaned_data)
        return {"crop": crop.pk}

    words = Words(
        title="A crop",
        thing=item.name,
        back=reverse("item-detail", args=[item.pk]),
        what="Purchases are planned by the alpha acid of the crop that will be delivered. Give a "
        "year once more to change it.",
        button="Keep the crop",
        said="The crop is kept.",
    )
    return kept(request, CropForm, write, words)


@page(Right.KEEP_CATALOGUE, methods=("GET", "POST"))
def crop_remove(request: SignedInRequest, crop_id: int) -> HttpResponse:
    """Take a crop away that was noted by mistake."""
    crop = get_object_or_404(CropYear.objects.select_related("item"), pk=crop_id)

    def write(_: forms.Form) -> dict[str, Any]:
        remove_crop(by=request.user, crop=crop)
        return {"item": crop.item_id}

    words = Words(
        title=f"Take away the crop of {crop.year}",
        thing=crop.item.name,
        back=reverse("item-detail", args=[crop.item_id]),
        what="Purchases are then planned by the crop before it. Lots that came stay as they are.",
        button="Take it away",
        said=f"The crop of {crop.year} is taken away.",
        danger=True,
    )
    return kept(request, forms.Form, write, words)
