"""The form of a delivery: what came of each line of an order, good and damaged."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from django import forms
from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.quantities import natural_unit
from boxwort.web.amounts import AmountField
from boxwort.web.days import DayInput
from boxwort.web.money import MoneyField
from inventory.models import Place
from inventory.queries.places import stores
from planning.queries.purchase_orders import OrderDetail, OrderLineRow
from planning.services.receipts import Arrived

LOTS_OF_A_LINE = 2
"""Rows for each line: a delivery may hold two lots of the supplier's of one item."""


class ArrivedForm(forms.Form):
    """What came of one line in one lot."""

    damage = forms.CharField(label="What happened", max_length=200, required=False)
    code = forms.CharField(label="Our lot code", max_length=20, required=False)
    supplier_lot = forms.CharField(label="Supplier's lot", max_length=40, required=False)
    packaged_on = forms.DateField(label="Packaged on", widget=DayInput, required=False)
    best_before_on = forms.DateField(label="Best before", widget=DayInput, required=False)
    ends = forms.BooleanField(label="The rest will not come", required=False)

    def __init__(self, line: OrderLineRow, person: User, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.line = line
        unit = natural_unit(line.pack_quantity or line.quantity, line.measure, person.units)
        for name, label in (("quantity", "Good"), ("damaged", "Damaged")):
            self.fields[name] = AmountField(
                measure=line.measure, unit=unit, label=label, required=False
            )
        self.unit = unit
        self.order_fields(["quantity", "damaged", "damage", "code"])
        for bound in self.fields.values():
            bound.widget.attrs["aria-label"] = f"{bound.label}: {line.item_name}"

    def clean_code(self) -> str:
        """Return the code in capitals, as it goes on the label."""
        return str(self.cleaned_data["code"]).upper()

    def clean(self) -> dict[str, Any]:
        """Ask what happened to what came damaged."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        if cleaned.get("damaged") and not (cleaned.get("damage") or "").strip():
            self.add_error("damage", "Write what happened; the supplier will ask.")
        return cleaned

    def arrived(self, place: Place) -> Arrived | None:
        """Return what came, or None where the row says nothing."""
        cleaned = self.cleaned_data
        if not cleaned["quantity"] and not cleaned["damaged"] and not cleaned["ends"]:
            return None
        return Arrived(
            line_id=self.line.id,
            quantity=cleaned["quantity"] or 0,
            place=place,
            damaged=cleaned["damaged"] or 0,
            damage=cleaned["damage"],
            code=cleaned["code"],
            supplier_lot=cleaned["supplier_lot"],
            packaged_on=cleaned["packaged_on"],
            best_before_on=cleaned["best_before_on"],
            ends=cleaned["ends"],
        )


class ReceiveForm(forms.Form):
    """A delivery: when, where to, and what came of each line that is awaited."""

    received_on = forms.DateField(label="Received on", widget=DayInput)
    delivery_note = forms.CharField(label="Delivery note", max_length=40, required=False)
    freight = MoneyField(label="Freight and other costs of the delivery", required=False)
    version = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, detail: OrderDetail, person: User, data: Any = None) -> None:
        today = timezone.localdate()
        initial = {"received_on": today, "version": detail.order.version}
        super().__init__(data, initial=initial)
        self.fields["place"] = forms.ModelChoiceField(
            stores(today), label="Where it lies", empty_label=None
        )
        self.rows = [
            ArrivedForm(line, person, data, prefix=f"row-{line.id}-{part}")
            for line in detail.lines
            if line.left or (data is not None and f"row-{line.id}-0-quantity" in data)
            for part in range(LOTS_OF_A_LINE)
        ]

    def first_rows(self) -> Iterator[tuple[ArrivedForm, ArrivedForm]]:
        """Yield each line's row with the one for a second lot of it."""
        yield from zip(self.rows[::2], self.rows[1::2], strict=True)

    def is_valid(self) -> bool:
        """Return whether the form and every row can be read."""
        rows = [row.is_valid() for row in self.rows]
        return super().is_valid() and all(rows)

    def arrived(self) -> Sequence[Arrived]:
        """Return what came."""
        place = self.cleaned_data["place"]
        return [found for row in self.rows if (found := row.arrived(place)) is not None]

    def payload(self) -> dict[str, Any]:
        """Return what was asked, so that the same request is known again."""
        rows = [[name, value] for row in self.rows for name, value in row.cleaned_data.items()]
        return {**self.cleaned_data, "place": self.cleaned_data["place"].pk, "rows": rows}
