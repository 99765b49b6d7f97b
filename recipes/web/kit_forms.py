"""The form of a kit: what is sold, and one row for each part beside the recipe's lines."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.datastructures import MultiValueDict

from boxwort.figures import MONEY_SCALE
from boxwort.quantities import Measure
from boxwort.web.amounts import AmountField
from inventory.models import Item
from inventory.models.codes import CODE_LENGTH
from recipes.models import Kit, Method, Part
from recipes.services.kits import PartFacts
from recipes.web.amount_rows import AmountRow
from recipes.web.fields import PercentField, WholeField, exact_amount, number_box
from recipes.web.rows import Texts, put_row, row_texts

BLANK = {"item": "", "amount": "", "part": Part.PACKED.value}
NEW_ROWS = 2
USUAL_SHELF_DAYS = "90"
#: What stays as it is once the kit is offered.
FROZEN_BOXES = ("volume", "yeast_part")


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
    price = forms.DecimalField(
        label="Price",
        min_value=0,
        max_digits=12,
        decimal_places=MONEY_SCALE,
        widget=number_box(),
    )
    yeast_part = forms.ChoiceField(label="The yeast is", choices=Part.choices)
    target_share = PercentField(
        label="Pitch target, % of the strain's rate",
        required=False,
        help_text="Empty, with the floor: the strain's own.",
    )
    floor_share = PercentField(label="Pitch floor, %", required=False)

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
        self.order_fields(("version", "code", "name", "volume", "price"))
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

    def is_valid(self) -> bool:
        """Return whether every box can be read, those of the rows too."""
        return all([super().is_valid(), *(row.is_valid() for row in self.rows)])

    def clean_code(self) -> str:
        """Return the code in capitals."""
        return str(self.cleaned_data["code"]).upper()

    def clean(self) -> dict[str, Any]:
        """Add the rows, so that a request that is repeated is known by them too."""
        typed: dict[str, Any] = super().clean() or self.cleaned_data
        return {**typed, "rows": [row_texts(self.texts, row.number) for row in self.rows]}

    def facts(self, kit: Kit | None) -> dict[str, Any]:
        """Return what is said of the kit as the service takes it."""
        typed = self.cleaned_data
        facts = {
            "shelf_days": typed["shelf_days"],
            "price": int(typed["price"].scaleb(MONEY_SCALE)),
            "target_share": typed["target_share"],
            "floor_share": typed["floor_share"],
        }
        if kit and self.frozen:
            return facts | {
                "volume": kit.volume,
                "yeast_part": Part(kit.yeast_part),
                "parts": _parts(kit),
            }
        return facts | {
            "volume": typed["volume"],
            "yeast_part": Part(typed["yeast_part"]),
            "parts": [row.facts for row in self.rows if row.facts],
        }


def new_texts(method: Method, system: str, volume: str = "") -> Texts:
    """Return the boxes to begin a kit of a method with."""
    texts: Texts = MultiValueDict(
        {
            "volume": [volume or exact_amount(method.finished_volume, Measure.VOLUME, system)],
            "shelf_days": [USUAL_SHELF_DAYS],
            "yeast_part": [Part.DISPATCH.value],
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
            "price": [f"{Decimal(kit.price).scaleb(-MONEY_SCALE).normalize():f}"],
            "yeast_part": [kit.yeast_part],
            "target_share": [share.typed(kit.target_share)],
            "floor_share": [share.typed(kit.floor_share)],
        }
    )
    for part in [] if kit.offered else _parts(kit):
        amount = exact_amount(part.quantity, Measure(part.item.measure), system)
        put_row(texts, {"item": str(part.item), "amount": amount, "part": part.part.value})
    return texts


def _parts(kit: Kit) -> list[PartFacts]:
    parts = kit.parts.select_related("item").order_by("pk")
    return [PartFacts(item=p.item, quantity=p.quantity, part=Part(p.part)) for p in parts]
