"""The form of a customer order: who, when and where to, and any number of lines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from boxwort.quantities import MG_PER_G, Measure, natural_unit
from boxwort.web.amounts import AmountField, exact_amount
from boxwort.web.days import DayInput
from boxwort.web.money import MoneyField
from boxwort.web.numbers import WholeField, number_box
from inventory.models import Item, ItemKind
from inventory.models.codes import CODE_LENGTH
from planning.models import DispatchZone
from planning.queries.customer_orders import (
    CustomerLineRow,
    CustomerOrderRow,
    orderable_kits,
    yeast_choices,
)
from planning.services.order_checks import CUSTOMER_LENGTH, NOTE_LENGTH, LineAsked
from recipes.models import Kit, Part

EMPTY_KITS, EMPTY_EXTRAS = 3, 1
MOST_ROWS = 200
GRAIN = (("crushed", "crushed"), ("whole", "whole"))


@dataclass(frozen=True, kw_only=True)
class Goods:
    """What may be ordered."""

    kits: Sequence[Kit]
    yeasts: Sequence[Item]
    extras: Sequence[Item]


def goods() -> Goods:
    """Return what may be ordered; three statements."""
    extras = Item.objects.filter(active=True).exclude(kind=ItemKind.KIT).order_by("name")
    return Goods(kits=orderable_kits(), yeasts=yeast_choices(), extras=list(extras))


class _LineForm(forms.Form):
    """One line; a line without a thing and a quantity says nothing yet."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, bound in self.fields.items():
            bound.widget.attrs["aria-label"] = f"{bound.label}, line {self.number}"
            bound.widget.attrs["id"] = f"id_{self.prefix}-{name}"

    @property
    def number(self) -> int:
        """Which line of its table it is, from 1."""
        return int(str(self.prefix).rpartition("-")[2]) + 1

    def asked(self) -> LineAsked | None:
        """Return the line; none where nothing is said."""
        raise NotImplementedError


class KitLineForm(_LineForm):
    """Kits of one kind with their options."""

    kit = forms.TypedChoiceField(label="Kit", required=False, coerce=int, empty_value=None)
    quantity = WholeField(label="Kits", required=False)
    yeast = forms.TypedChoiceField(label="Yeast", required=False, coerce=int, empty_value=None)
    grain = forms.ChoiceField(label="Grain", required=False, choices=GRAIN)
    price = MoneyField(label="Price of a kit", required=False)

    def __init__(self, offered: Goods, *args: Any, **kwargs: Any) -> None:
        self.kits = {kit.pk: kit for kit in offered.kits}
        self.yeasts = {item.pk: item for item in offered.yeasts}
        super().__init__(*args, **kwargs)
        kits = [(kit.pk, _kit_words(kit)) for kit in offered.kits]
        self.fields["kit"].choices = [("", "Choose a kit"), *kits]  # type: ignore[attr-defined]
        yeasts = [(item.pk, item.name) for item in offered.yeasts]
        self.fields["yeast"].choices = [("", "the usual one"), *yeasts]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """Ask for the kit of a number, and the number of a kit."""
        typed: dict[str, Any] = super().clean() or self.cleaned_data
        if typed.get("quantity") and not typed.get("kit") and "kit" not in self.errors:
            self.add_error("kit", "Say which kit.")
        return typed

    def asked(self) -> LineAsked | None:
        """Return the line; none without kits."""
        typed = self.cleaned_data
        if not typed["quantity"]:
            return None
        return LineAsked(
            kit=self.kits[typed["kit"]],
            yeast=self.yeasts.get(typed["yeast"]),
            crushed=typed["grain"] != "whole",
            quantity=typed["quantity"],
            price=typed["price"],
        )


class ExtraLineForm(_LineForm):
    """So much of an item beside the kits."""

    item = forms.TypedChoiceField(label="Item", required=False, coerce=int, empty_value=None)
    amount = forms.CharField(label="Amount", required=False, widget=number_box())
    price = MoneyField(label="Price of it all", required=False)

    def __init__(self, offered: Goods, system: str, *args: Any, **kwargs: Any) -> None:
        self.system = system
        self.items_known = {item.pk: item for item in offered.extras}
        super().__init__(*args, **kwargs)
        items = [(item.pk, f"{item.name} ({item.code})") for item in offered.extras]
        self.fields["item"].choices = [("", "Choose an item"), *items]  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """Read the amount by its item; without a unit it is in grams, millilitres or pieces."""
        typed: dict[str, Any] = super().clean() or self.cleaned_data
        item, text = self.items_known.get(typed.get("item") or 0), typed.get("amount", "")
        if item is None:
            if text and "item" not in self.errors:
                self.add_error("item", "Say of what this is the amount.")
            return typed
        measure = Measure(item.measure)
        unit = natural_unit(MG_PER_G, measure, self.system)
        try:
            amount = AmountField(measure=measure, unit=unit, required=False).clean(text)
        except ValidationError as problem:
            self.add_error("amount", problem)
        else:
            typed["quantity"] = amount or 0
        return typed

    def asked(self) -> LineAsked | None:
        """Return the line; none without an amount."""
        typed = self.cleaned_data
        if not typed.get("quantity"):
            return None
        item = self.items_known[typed["item"]]
        return LineAsked(item=item, quantity=typed["quantity"], price=typed["price"])


class CustomerOrderForm(forms.Form):
    """An order with its lines, and some that say nothing yet."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False)
    code = forms.CharField(
        label="Code",
        max_length=CODE_LENGTH,
        required=False,
        help_text="Empty: it is named for today.",
    )
    customer = forms.CharField(label="Customer", max_length=CUSTOMER_LENGTH)
    zone = forms.ModelChoiceField(
        DispatchZone.objects.none(), label="Zone", required=False, empty_label="none"
    )
    promised_on = forms.DateField(label="Leaves on", widget=DayInput)
    note = forms.CharField(label="Note", max_length=NOTE_LENGTH, required=False)
    kit_rows = forms.IntegerField(widget=forms.HiddenInput, min_value=0, max_value=MOST_ROWS)
    extra_rows = forms.IntegerField(widget=forms.HiddenInput, min_value=0, max_value=MOST_ROWS)

    def __init__(self, order: CustomerOrderRow | None, system: str, data: Any = None) -> None:
        self.order = order
        known = order.lines if order else ()
        kits = [line for line in known if line.is_kit]
        extras = [line for line in known if not line.is_kit]
        more = data is not None and "more" in data
        self.sizes = {
            "kit_rows": _size(data, "kit_rows", len(kits) + EMPTY_KITS, EMPTY_KITS if more else 0),
            "extra_rows": _size(
                data, "extra_rows", len(extras) + EMPTY_EXTRAS, EMPTY_KITS if more else 0
            ),
        }
        if data is not None:
            data = data.copy()
            for name, size in self.sizes.items():
                data[name] = str(size)
        super().__init__(data, initial={**_head(order), **self.sizes})
        zones = DispatchZone.objects.filter(active=True) | DispatchZone.objects.filter(
            code=order.zone_code if order else ""
        )
        self.fields["zone"].queryset = zones.order_by("name")  # type: ignore[attr-defined]
        if order is not None:
            del self.fields["code"]
        offered = goods()
        self.kit_lines = [
            KitLineForm(offered, data, prefix=f"kit-{at}", initial=_kit_initial(kits, at))
            for at in range(self.sizes["kit_rows"])
        ]
        self.extra_lines = [
            ExtraLineForm(
                offered,
                system,
                data,
                prefix=f"extra-{at}",
                initial=_extra_initial(extras, at, system),
            )
            for at in range(self.sizes["extra_rows"])
        ]

    def is_valid(self) -> bool:
        """Return whether the form and every line can be read."""
        lines = [line.is_valid() for line in (*self.kit_lines, *self.extra_lines)]
        return super().is_valid() and all(lines)

    def said(self) -> Iterator[tuple[_LineForm, LineAsked]]:
        """Yield the lines that say something, with their boxes."""
        for form in (*self.kit_lines, *self.extra_lines):
            line = form.asked()
            if line is not None:
                yield form, line

    def facts(self) -> dict[str, Any]:
        """Return the order as the service takes it."""
        names = ("code", "customer", "zone", "promised_on", "note")
        said = {name: self.cleaned_data[name] for name in names if name in self.cleaned_data}
        if "code" in said:
            said["code"] = said["code"].upper()
        return {**said, "lines": [line for _form, line in self.said()]}

    def payload(self) -> dict[str, Any]:
        """Return what was asked, so that the same request is known again."""
        lines = [
            [line.code, line.yeast and line.yeast.code, line.crushed, line.quantity, line.price]
            for _form, line in self.said()
        ]
        return {**self.cleaned_data, "lines": lines}

    def blame(self, number: int, words: str) -> None:
        """Put what is wrong with a line beside its boxes, by its number among those that speak."""
        forms_said = [form for form, _line in self.said()]
        if 1 <= number <= len(forms_said):
            forms_said[number - 1].add_error(None, words)


def _size(data: Any, name: str, usual: int, more: int) -> int:
    asked = str(data.get(name, "")) if data is not None else ""
    size = int(asked) if asked.isascii() and asked.isdecimal() and len(asked) < 6 else usual
    return min(size + more, MOST_ROWS)


def _head(order: CustomerOrderRow | None) -> dict[str, Any]:
    if order is None:
        return {}
    zone = DispatchZone.objects.filter(code=order.zone_code).first()
    return {
        "version": order.version,
        "customer": order.customer,
        "zone": zone,
        "promised_on": order.promised_on,
        "note": order.note,
    }


def _kit_initial(lines: Sequence[CustomerLineRow], at: int) -> dict[str, Any]:
    if at >= len(lines):
        return {}
    line = lines[at]
    return {
        "kit": line.kit_id,
        "quantity": line.quantity,
        "yeast": line.yeast_id,
        "grain": "whole" if line.crushed is False else "crushed",
        "price": MoneyField().typed(line.price),
    }


def _extra_initial(lines: Sequence[CustomerLineRow], at: int, system: str) -> dict[str, Any]:
    if at >= len(lines):
        return {}
    line = lines[at]
    return {
        "item": line.item_id,
        "amount": exact_amount(line.quantity, Measure(line.measure), system),
        "price": MoneyField().typed(line.price),
    }


def _kit_words(kit: Kit) -> str:
    options = [
        word
        for word, part in (("yeast", kit.yeast_part), ("grain", kit.grain_part))
        if part == Part.DISPATCH
    ]
    choice = f", choice of {' and '.join(options)}" if options else ""
    return f"{kit.item.name} ({kit.item.code}){choice}"
