"""The form of a draft: so many packs of an offer on each line."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from boxwort.quantities import Measure, read_naturally
from boxwort.web.days import DayInput
from boxwort.web.money import MoneyField
from boxwort.web.numbers import WholeField
from inventory.models import Contract, SupplierItem
from planning.models import PurchaseLine, PurchaseOrder
from planning.services.purchase_orders import DraftLine

EMPTY_ROWS = 3
"""Lines of a draft that say nothing yet."""


class DraftLineForm(forms.Form):
    """One line of a draft; no packs, or zero: no line."""

    packs = WholeField(label="Packs", required=False)
    pack_price = MoneyField(label="Price of a pack", required=False)
    due_on = forms.DateField(label="Expected", widget=DayInput, required=False)
    kept = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(
        self,
        offers: Mapping[str, SupplierItem],
        contracts: Mapping[str, Contract],
        *args: Any,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["offer"] = _chosen(
            "Offer", offers, {key: offer_words(offer) for key, offer in offers.items()}
        )
        self.fields["contract"] = _chosen(
            "Contract", contracts, {key: contract.code for key, contract in contracts.items()}
        )
        for name, bound in self.fields.items():
            bound.widget.attrs["aria-label"] = f"{bound.label}, line {self.number}"
            bound.widget.attrs["id"] = f"id_{self.prefix}-{name}"

    @property
    def number(self) -> int:
        """Which line it is, from 1."""
        return int(str(self.prefix).rpartition("-")[2]) + 1

    def clean(self) -> dict[str, Any]:
        """Ask for what a line with packs needs."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        if cleaned.get("packs"):
            for name, what in (("offer", "what is ordered"), ("due_on", "when it is expected")):
                if not cleaned.get(name) and name not in self.errors:
                    self.add_error(name, f"Say {what}.")
        return cleaned

    def line(self, known: PurchaseLine | None) -> DraftLine | None:
        """Return the line; what the plan said of it stays where its offer stays."""
        cleaned = self.cleaned_data
        if not cleaned.get("packs"):
            return None
        same = known is not None and known.offer_id == cleaned["offer"].pk
        return DraftLine(
            offer=cleaned["offer"],
            packs=cleaned["packs"],
            due_on=cleaned["due_on"],
            pack_price=cleaned["pack_price"],
            contract=cleaned["contract"],
            need_by=known.need_by if known and same else None,
            order_by=known.order_by if known and same else None,
            runs=known.runs if known and same else "",
        )


class DraftForm(forms.Form):
    """A draft: its note and lines, and some empty lines."""

    note = forms.CharField(label="Note to the supplier", max_length=200, required=False)
    version = forms.IntegerField(widget=forms.HiddenInput)
    rows = forms.IntegerField(widget=forms.HiddenInput, min_value=0, max_value=500)

    def __init__(self, order: PurchaseOrder, data: Any = None) -> None:
        self.order = order
        self.known = {line.pk: line for line in order.lines.select_related("offer").order_by("pk")}
        initial = {
            "note": order.note,
            "version": order.version,
            "rows": len(self.known) + EMPTY_ROWS,
        }
        super().__init__(data, initial=initial)
        sold = SupplierItem.objects.filter(supplier=order.supplier).select_related("item")
        agreed = Contract.objects.filter(offer__supplier=order.supplier)
        offers = {str(row.pk): row for row in sold.order_by("item__name", "pack_quantity")}
        contracts = {str(row.pk): row for row in agreed}
        self.lines = [
            DraftLineForm(offers, contracts, data, prefix=f"line-{at}", initial=self._of(at))
            for at in range(self._count(data))
        ]

    def _count(self, data: Any) -> int:
        asked = str(data.get("rows", "")) if data is not None else ""
        return min(int(asked), 500) if asked.isdecimal() else len(self.known) + EMPTY_ROWS

    def _of(self, at: int) -> dict[str, Any]:
        lines = list(self.known.values())
        if at >= len(lines):
            return {}
        line = lines[at]
        return {
            "kept": line.pk,
            "offer": line.offer_id,
            "packs": line.quantity // line.pack_quantity if line.pack_quantity else None,
            "pack_price": MoneyField().typed(line.pack_price),
            "due_on": line.due_on,
            "contract": line.contract_id,
        }

    def is_valid(self) -> bool:
        """Return whether the form and every line can be read."""
        lines = [line.is_valid() for line in self.lines]
        return super().is_valid() and all(lines)

    def asked(self) -> list[DraftLine]:
        """Return the lines with packs."""
        found = []
        for form in self.lines:
            kept = form.cleaned_data.get("kept") or ""
            known = self.known.get(int(kept)) if kept.isdecimal() else None
            line = form.line(known)
            if line is not None:
                found.append(line)
        return found

    def payload(self) -> dict[str, Any]:
        """Return what was asked, so that the same request is known again."""
        return {
            **self.cleaned_data,
            "lines": [
                [
                    line.offer.pk,
                    line.packs,
                    line.pack_price,
                    line.due_on,
                    line.contract.pk if line.contract else None,
                ]
                for line in self.asked()
            ],
        }


def _chosen(
    label: str, rows: Mapping[str, Any], words: Mapping[str, str]
) -> forms.TypedChoiceField:
    """Return a box to choose one of some rows, or none of them."""
    return forms.TypedChoiceField(
        label=label,
        required=False,
        choices=[("", "none"), *words.items()],
        coerce=rows.get,
        empty_value=None,
    )


def offer_words(offer: SupplierItem) -> str:
    """Return an offer as a person chooses it: the item and its pack."""
    pack = read_naturally(offer.pack_quantity, Measure(offer.item.measure))
    return f"{offer.item.name}, {pack}"
