"""The form of a kit: what is sold, and one row for each part beside the recipe's lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from datetime import date
from typing import Any

from django import forms
from django.utils.datastructures import MultiValueDict

from boxwort.quantities import Measure
from boxwort.web.amounts import AmountField, exact_amount
from boxwort.web.days import DayInput
from boxwort.web.money import MoneyField
from boxwort.web.numbers import PercentField, WholeField
from inventory.models import Item
from inventory.models.codes import CODE_LENGTH
from recipes.models import Contents, Kit, Method, Part
from recipes.services.kits import PartFacts
from recipes.services.pack_rules import PackRules
from recipes.web.amount_rows import AmountRow
from recipes.web.rows import Texts, put_row, row_texts

BLANK = {"item": "", "amount": "", "part": Part.PACKED.value}
NEW_ROWS = 2
USUAL_SHELF_DAYS = "90"
#: What stays as it is once the kit is offered.
FROZEN_BOXES = ("volume", "contents", "yeast_part", "grain_part")
#: When it is packed and sold, and how many a run makes.
RULE_BOXES = tuple(field.name for field in fields(PackRules))


class PartForm(AmountRow):
    """One part, as a row of the table."""

    part = forms.ChoiceField(label="Goes in", choices=Part.choices)
    facts: PartFacts | None = None

    def make(self, item: Item, quantity: int, typed: dict[str, Any]) -> None:
        """Make the part."""
        self.facts = PartFacts(item=item, quantity=quantity, part=Part(typed["part"]))


class KitForm(forms.Form):
    """A kit with its parts, of the texts in its boxes; ``check`` reads them."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False)
    code = forms.CharField(
        label="Code", max_length=CODE_LENGTH, help_text="Capitals, digits and hyphens, for good."
    )
    name = forms.CharField(label="Name", max_length=120)
    shelf_days = WholeField(label="From packing to brew day, days at most")
    price = MoneyField(label="Price")
    contents = forms.ChoiceField(
        label="In the box",
        choices=Contents.choices,
        help_text="A hop pack holds the hops alone, with their own weigh sheet; put it among the "
        "parts of the kit that it belongs to.",
    )
    yeast_part = forms.ChoiceField(label="The yeast is", choices=Part.choices)
    grain_part = forms.ChoiceField(
        label="The grain is",
        choices=Part.choices,
        help_text="Grain added at dispatch is crushed to order.",
    )
    target_share = PercentField(
        label="Pitch target, % of the strain's rate",
        required=False,
        help_text="Empty, with the floor: the strain's own.",
    )
    floor_share = PercentField(label="Pitch floor, %", required=False)
    first_pack_on = forms.DateField(
        label="First packed on", required=False, widget=DayInput, help_text="Empty: at any time."
    )
    last_pack_on = forms.DateField(label="Last packed on", required=False, widget=DayInput)
    last_sale_on = forms.DateField(
        label="Last sold on",
        required=False,
        widget=DayInput,
        help_text="Demand after this day does not count.",
    )
    minimum_kits = WholeField(
        label="Least kits of a run", required=False, help_text="Empty: any number."
    )
    multiple_kits = WholeField(
        label="A run is a multiple of", required=False, help_text="Kits. Empty: any number."
    )

    def __init__(
        self,
        items: Sequence[Item],
        system: str,
        texts: Texts,
        *,
        check: bool,
        kit: Kit | None = None,
    ) -> None:
        super().__init__(texts if check else None, initial=None if check else texts.dict())
        self.texts = texts
        unit = "US gal" if system == "us" else "L"
        self.fields["volume"] = AmountField(
            measure=Measure.VOLUME, unit=unit, label=f"Makes, {unit}"
        )
        self.order_fields(("version", "code", "name", "contents", "volume", "price"))
        self.frozen = kit is not None and kit.offered
        if kit:
            del self.fields["code"], self.fields["name"]
        for name in FROZEN_BOXES if self.frozen else ():
            del self.fields[name]
        self.rows = [
            PartForm(
                items,
                system,
                texts if check else None,
                prefix=f"row-{number}",
                initial=None if check else row_texts(texts, number),
            )
            for number in texts.getlist("row")
        ]

    def sold_boxes(self) -> list[forms.BoundField]:
        """Return the boxes that say what is sold."""
        return [bound for bound in self if bound.name not in RULE_BOXES]

    def rule_boxes(self) -> list[forms.BoundField]:
        """Return the boxes that say when it is packed, and how many."""
        return [self[name] for name in RULE_BOXES]

    def is_valid(self) -> bool:
        """Return whether every box can be read, those of the rows too."""
        return all([super().is_valid(), *(row.is_valid() for row in self.rows)])

    def clean_code(self) -> str:
        """Return the code in capitals."""
        return str(self.cleaned_data["code"]).upper()

    def clean(self) -> dict[str, Any]:
        """Check the days, and add the rows: a request that is repeated is known by them too."""
        typed: dict[str, Any] = super().clean() or self.cleaned_data
        for name, what, remedy in self._rules().problems():
            if name not in self.errors:
                self.add_error(name, f"{what} {remedy}")
        return {**typed, "rows": [row_texts(self.texts, row.number) for row in self.rows]}

    def _rules(self) -> PackRules:
        """Return when it is packed, and how many; an empty box says nothing."""
        said = {name: self.cleaned_data.get(name) for name in RULE_BOXES}
        return PackRules(**{name: value for name, value in said.items() if value is not None})

    def facts(self, kit: Kit | None) -> dict[str, Any]:
        """Return what is said of the kit as the service takes it."""
        typed = self.cleaned_data
        facts = {
            "shelf_days": typed["shelf_days"],
            "price": typed["price"],
            "target_share": typed["target_share"],
            "floor_share": typed["floor_share"],
            "rules": self._rules(),
        }
        if kit and self.frozen:
            return facts | {
                "volume": kit.volume,
                "contents": Contents(kit.contents),
                "yeast_part": Part(kit.yeast_part),
                "grain_part": Part(kit.grain_part),
                "parts": _parts(kit),
            }
        return facts | {
            "volume": typed["volume"],
            "contents": Contents(typed["contents"]),
            "yeast_part": Part(typed["yeast_part"]),
            "grain_part": Part(typed["grain_part"]),
            "parts": [row.facts for row in self.rows if row.facts],
        }


def new_texts(method: Method, system: str, volume: str = "") -> Texts:
    """Return the boxes to begin a kit of a method with."""
    texts: Texts = MultiValueDict(
        {
            "volume": [volume or exact_amount(method.finished_volume, Measure.VOLUME, system)],
            "shelf_days": [USUAL_SHELF_DAYS],
            "contents": [Contents.KIT.value],
            "yeast_part": [Part.DISPATCH.value],
            "grain_part": [Part.PACKED.value],
        }
    )
    for _ in range(NEW_ROWS):
        put_row(texts, BLANK)
    return texts


def kit_texts(kit: Kit, system: str) -> Texts:
    """Return the boxes of a kit as it stands."""
    share = PercentField()
    texts: Texts = MultiValueDict(
        {
            "version": [str(kit.version)],
            "volume": [exact_amount(kit.volume, Measure.VOLUME, system)],
            "shelf_days": [str(kit.shelf_days)],
            "price": [MoneyField().typed(kit.price)],
            "contents": [kit.contents],
            "yeast_part": [kit.yeast_part],
            "grain_part": [kit.grain_part],
            "target_share": [share.typed(kit.target_share)],
            "floor_share": [share.typed(kit.floor_share)],
            **{name: [_written(getattr(kit, name))] for name in RULE_BOXES},
        }
    )
    for part in [] if kit.offered else _parts(kit):
        amount = exact_amount(part.quantity, Measure(part.item.measure), system)
        put_row(texts, {"item": str(part.item), "amount": amount, "part": part.part.value})
    return texts


def _written(rule: date | int | None) -> str:
    """Return a day or a number of kits as its box shows it; any number is an empty box."""
    return "" if rule in (None, 1) else str(rule)


def _parts(kit: Kit) -> list[PartFacts]:
    parts = kit.parts.select_related("item").order_by("pk")
    return [PartFacts(item=p.item, quantity=p.quantity, part=Part(p.part)) for p in parts]
