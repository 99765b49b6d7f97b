"""The forms of buying: a supplier, what they sell, and a contract with them."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from boxwort.accounts.models import User
from boxwort.accounts.queries import site_settings
from boxwort.figures import MONEY_SCALE
from boxwort.quantities import MG_PER_KG, Measure, natural_unit
from boxwort.web.amounts import AmountField, exact_amount
from boxwort.web.days import DayInput
from boxwort.web.money import MoneyField
from boxwort.web.weekdays import WeekdaysField
from inventory.models import Contract, Item, ItemKind, Supplier, SupplierItem
from inventory.models.codes import CODE_LENGTH

LONGEST_LEAD = 730


class CodeBox(forms.CharField):
    """A code, in capitals."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(label="Code", max_length=CODE_LENGTH, **kwargs)

    def clean(self, value: Any) -> Any:
        """Return it in capitals."""
        return str(super().clean(value)).upper()


class BreaksField(forms.CharField):
    """Lower prices, one a line: from so many packs, and the price of a pack then."""

    def __init__(self, **kwargs: Any) -> None:
        box = forms.Textarea(attrs={"rows": 3, "autocomplete": "off"})
        super().__init__(widget=box, required=False, **kwargs)

    def clean(self, value: Any) -> Any:
        """Return pairs of packs and ten-thousandths of the currency."""
        lines = [line for line in str(super().clean(value)).splitlines() if line.strip()]
        return [_price_break(line) for line in lines]

    def typed(self, breaks: list[tuple[int, int]]) -> str:
        """Return pairs as the box shows them."""
        return "\n".join(f"{packs} {MoneyField().typed(price)}" for packs, price in breaks)


def _price_break(line: str) -> tuple[int, int]:
    try:
        packs, price = line.replace(":", " ").split()
        pair = int(packs), int(Decimal(price).scaleb(MONEY_SCALE))
    except (ValueError, InvalidOperation):
        pair = (0, 0)
    if pair[0] < 2 or pair[1] < 0:
        remedy = "Write packs, 2 or more, and the price, such as: 10 38.50"
        msg = f"“{line.strip()}” is not read. {remedy}"
        raise ValidationError(msg, code="not-a-price-break")
    return pair


class SupplierForm(forms.Form):
    """A supplier: when orders are taken, and how long they take."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False)
    name = forms.CharField(label="Name", max_length=120)
    email = forms.EmailField(label="Email", max_length=120, required=False)
    lead_days = forms.IntegerField(label="Lead time, days", min_value=0, max_value=LONGEST_LEAD)
    counts_working_days = forms.BooleanField(
        label="These are working days of the house", required=False
    )
    order_weekdays = WeekdaysField(label="Takes orders on")
    active = forms.BooleanField(
        label="In use",
        required=False,
        help_text="What is not in use is on no list to buy from.",
    )

    def __init__(self, supplier: Supplier | None, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if supplier is None:
            self.fields["code"] = CodeBox(help_text="Capitals, digits and hyphens, for good.")
            del self.fields["active"]
            self.order_fields(("version", "code"))
        standing = supplier or Supplier()
        for name in self.fields:
            self.initial[name] = getattr(standing, name)

    def facts(self) -> dict[str, Any]:
        """Return the supplier as the service takes it."""
        return {name: said for name, said in self.cleaned_data.items() if name != "version"}


class OfferForm(forms.Form):
    """An item as a supplier sells it. Item and pack are for good: another pack is another offer."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False)
    supplier_code = forms.CharField(label="Their code for it", max_length=40, required=False)
    minimum_packs = forms.IntegerField(label="Least packs of an order", min_value=1, initial=1)
    lead_days = forms.IntegerField(
        label="Lead time, days",
        min_value=0,
        max_value=LONGEST_LEAD,
        required=False,
        help_text="Empty: as of everything from this supplier.",
    )
    preferred = forms.BooleanField(
        label="Preferred",
        required=False,
        help_text="Bought here first; another offer of the item no longer is.",
    )

    def __init__(self, offer: SupplierItem | None, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        currency = site_settings().currency
        self.fields["price"] = MoneyField(label=f"Price of a pack, in {currency}")
        self.fields["cheaper"] = BreaksField(
            label="Cheaper from",
            help_text="A line for each: packs, and the price of a pack from then on, such as: "
            "10 38.50",
        )
        if offer is None:
            items = Item.objects.filter(active=True).exclude(kind=ItemKind.KIT).order_by("name")
            self.fields["item"] = forms.ModelChoiceField(items, label="Item", empty_label=None)
            self.fields["pack"] = forms.CharField(
                label="Pack", help_text="With its unit, such as 25 kg, 500 g or 12 each."
            )
            self.order_fields(("version", "item", "pack", "price", "cheaper"))
            return
        self.order_fields(("version", "price", "cheaper"))
        breaks = list(offer.breaks.values_list("from_packs", "pack_price"))
        first = [price for packs, price in breaks if packs == 1]
        self.initial["price"] = MoneyField().typed(first[0] if first else None)
        self.initial["cheaper"] = BreaksField().typed([pair for pair in breaks if pair[0] > 1])
        for name in ("version", "supplier_code", "minimum_packs", "lead_days", "preferred"):
            self.initial[name] = getattr(offer, name)

    def clean(self) -> dict[str, Any]:
        """Read the pack by its item."""
        typed: dict[str, Any] = super().clean() or self.cleaned_data
        item, pack = typed.get("item"), typed.get("pack")
        if item and pack:
            measure = Measure(item.measure)
            unit = natural_unit(MG_PER_KG, measure, "metric")
            try:
                typed["pack"] = AmountField(measure=measure, unit=unit).clean(pack)
            except ValidationError as problem:
                self.add_error("pack", problem)
        return typed

    def facts(self) -> dict[str, Any]:
        """Return what is said of it as the service takes it, without item and pack."""
        typed = self.cleaned_data
        names = ("supplier_code", "minimum_packs", "lead_days", "preferred")
        said = {name: typed[name] for name in names}
        return {**said, "breaks": [(1, typed["price"]), *typed["cheaper"]]}


class ContractForm(forms.Form):
    """A quantity of an offer agreed for a time."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False)
    from_on = forms.DateField(label="Called off from", widget=DayInput)
    until_on = forms.DateField(label="Called off until", widget=DayInput)

    def __init__(
        self,
        offer: SupplierItem,
        contract: Contract | None,
        person: User,
        *args: Any,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        measure = Measure(offer.item.measure)
        unit = natural_unit(offer.pack_quantity, measure, person.units)
        self.fields["quantity"] = AmountField(
            measure=measure,
            unit=unit,
            label=f"Agreed, in {'pieces' if measure is Measure.COUNT else unit}",
        )
        self.fields["pack_price"] = MoneyField(
            label=f"Price of a pack, in {site_settings().currency}",
            required=False,
            help_text="Empty: as of the offer.",
        )
        if offer.item.kind == ItemKind.HOP:
            self.fields["crop_year"] = forms.IntegerField(
                label="Year of the crop", required=False, min_value=2000, max_value=2100
            )
        if contract is None:
            self.fields["code"] = CodeBox()
        else:
            for name in ("version", "from_on", "until_on", "crop_year"):
                self.initial[name] = getattr(contract, name)
            self.initial["quantity"] = exact_amount(contract.quantity, measure, person.units)
            self.initial["pack_price"] = MoneyField().typed(contract.pack_price)
        self.order_fields(("version", "code", "quantity", "pack_price", "crop_year"))

    def clean(self) -> dict[str, Any]:
        """Put an end before the beginning at its box."""
        typed: dict[str, Any] = super().clean() or self.cleaned_data
        first, last = typed.get("from_on"), typed.get("until_on")
        if first and last and last < first:
            self.add_error("until_on", "It would end before it begins.")
        return typed

    def facts(self) -> dict[str, Any]:
        """Return the contract as the service takes it."""
        return {name: said for name, said in self.cleaned_data.items() if name != "version"}
