"""The form of a draft's method: what is said of it, and one row for each addition.

A form is made of the texts in its boxes, wherever they come from: the method as it stands, what
somebody typed and did not save, or a request.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from boxwort.errors import Refusal
from boxwort.figures import share
from boxwort.quantities import Measure
from boxwort.web.amounts import AmountField
from boxwort.web.numbers import MeasuredField, PercentField, WholeField
from inventory.models import Item, ItemKind
from recipes.brewing.roles import HopRole, MethodKind, Use
from recipes.models.methods import USE_CHOICES
from recipes.services.methods import LineFacts, MethodFacts, refuse_impossible_line
from recipes.web.amount_rows import AmountRow
from recipes.web.fields import TemperatureField
from recipes.web.rows import Texts, row_texts

ROLES = [
    ("", "None"),
    (HopRole.HOLD_WEIGHT.value, "Keeps its weight"),
    (HopRole.HOLD_BITTERNESS.value, "Keeps its bitterness"),
    (HopRole.ABSORB.value, "Takes the difference"),
    (HopRole.MOVE_TIME.value, "Moves its boil time"),
]
_USES = [
    (value, {"whirlpool": "Hop stand", "flame_out": "Flame-out"}.get(value, label))
    for value, label in USE_CHOICES
]
MASH_BOXES = ("mash_efficiency", "mash_temperature_c", "mash_l_per_kg", "grain_temperature_c")
#: The parts of the form: title, and its boxes.
PARTS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "Volumes and boil",
        ("finished_volume", "pre_boil_volume", "post_boil_volume", "boil_minutes"),
    ),
    ("Mash", MASH_BOXES),
    (
        "Fermentation and bottling",
        ("ferment_temperature_c", "attenuation", "carbonation_volumes", "heavy_bottles"),
    ),
    (
        "Hop stand and first wort",
        ("stand_minutes", "stand_from_c", "stand_to_c", "first_wort_minutes"),
    ),
)
#: Which box a refusal of the service is about.
BOX_OF: Mapping[str, str] = {
    "boil-impossible": "pre_boil_volume",
    "efficiency-impossible": "mash_efficiency",
    "attenuation-impossible": "attenuation",
    "stand-impossible": "stand_minutes",
    "carbonation-impossible": "carbonation_volumes",
    "mash-impossible": "mash_l_per_kg",
}
_BOX_OF_LINE: Mapping[str, str] = {
    "quantity-missing": "amount",
    "not-a-line": "item",
    "not-a-hop": "role",
    "hop-line-incomplete": "alpha",
    "time-limits-impossible": "least",
}


class LineForm(AmountRow):
    """One addition, as a row of the table; ``taken`` says what was taken for an empty box."""

    use = forms.ChoiceField(label="Use", choices=_USES)
    minutes = WholeField(label="Minutes", required=False)
    role = forms.ChoiceField(label="Hop role", choices=ROLES, required=False)
    alpha = PercentField(label="Alpha acid, %", required=False)
    least = WholeField(label="Least minutes", required=False, placeholder=" ")
    most = WholeField(label="Most minutes", required=False, placeholder=" ")
    note = forms.CharField(label="Note", max_length=120, required=False)
    facts: LineFacts | None = None
    taken = ""

    def make(self, item: Item, quantity: int, typed: dict[str, Any]) -> None:
        """Make the line, or say at the box what no line can have."""
        role = HopRole(typed["role"]) if typed["role"] else None
        alpha = typed["alpha"]
        if role and alpha is None and item.kind == ItemKind.HOP and hasattr(item, "hop"):
            alpha = item.hop.planning_alpha
            self.taken = f"its planning alpha of {share(alpha)} is taken for {item.name}."
        facts = LineFacts(
            item=item,
            use=Use(typed["use"]),
            quantity=quantity,
            minutes=typed["minutes"] or 0,
            role=role,
            reference_alpha=alpha,
            note=typed["note"],
            least_minutes=typed["least"],
            most_minutes=typed["most"],
        )
        try:
            refuse_impossible_line(facts)
        except Refusal as refusal:
            self.add_error(_BOX_OF_LINE[refusal.code], f"{refusal.what} {refusal.remedy}")
            return
        self.facts = facts


class MethodForm(forms.Form):
    """A method with its rows, of the texts in its boxes; ``check`` reads them."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    boil_minutes = WholeField(label="Boil, minutes")
    mash_efficiency = PercentField(label="Mash efficiency, %")
    attenuation = PercentField(
        label="Attenuation from trials, %", required=False, help_text="Empty: the yeast's own."
    )
    carbonation_volumes = MeasuredField(label="Carbonation, volumes of CO2", required=False)
    heavy_bottles = forms.BooleanField(
        label="Needs heavy bottles",
        required=False,
        help_text="Made for its carbonation: usual bottles are rated for 4 volumes.",
    )
    mash_l_per_kg = MeasuredField(label="Mash water, L for each kg of grain", required=False)
    stand_minutes = WholeField(label="Hop stand, minutes", required=False)
    first_wort_minutes = WholeField(
        label="First-wort hops count for, minutes",
        required=False,
        help_text="Empty: the whole boil.",
    )
    steps = forms.CharField(
        label="Steps for the brewer",
        required=False,
        max_length=20_000,
        widget=forms.Textarea(attrs={"rows": 6}),
    )

    def __init__(
        self,
        kind: MethodKind,
        items: Sequence[Item],
        system: str,
        texts: Texts,
        *,
        check: bool,
    ) -> None:
        super().__init__(texts if check else None, initial=None if check else texts.dict())
        self.texts = texts
        self.kind, self.checked = kind, check
        gallons = system == "us"
        for name, label in (
            ("finished_volume", "Beer in the fermenter"),
            ("pre_boil_volume", "In the kettle before the boil"),
            ("post_boil_volume", "In the kettle after the boil"),
        ):
            unit = "US gal" if gallons else "L"
            label = f"{label}, {unit}"
            self.fields[name] = AmountField(measure=Measure.VOLUME, unit=unit, label=label)
        for name, label in (
            ("mash_temperature_c", "Mash temperature"),
            ("grain_temperature_c", "Temperature of the grain"),
            ("ferment_temperature_c", "Fermentation temperature"),
            ("stand_from_c", "Hop stand, from"),
            ("stand_to_c", "Hop stand, down to"),
        ):
            needed = name == "ferment_temperature_c"
            self.fields[name] = TemperatureField(system=system, label=label, required=needed)
        if kind is MethodKind.EXTRACT:
            for name in MASH_BOXES:
                del self.fields[name]
        self.rows = [
            LineForm(
                items,
                system,
                texts if check else None,
                prefix=f"row-{number}",
                initial=None if check else row_texts(texts, number),
            )
            for number in texts.getlist("row")
        ]

    @property
    def parts(self) -> list[dict[str, Any]]:
        """Return the boxes part by part."""
        return [
            {"title": title, "boxes": [self[name] for name in names if name in self.fields]}
            for title, names in PARTS
            if any(name in self.fields for name in names)
        ]

    @property
    def lines(self) -> list[LineFacts]:
        """Return the lines that can be read."""
        return [row.facts for row in self.rows if row.facts]

    @property
    def taken(self) -> list[str]:
        """Return in words what was left out and is taken from the catalogue."""
        rows = enumerate(self.rows, start=1)
        return [f"Row {place}: {row.taken}" for place, row in rows if row.taken]

    @property
    def unread(self) -> list[str]:
        """Return in words what cannot be read yet."""
        said = [
            f"{self[name].label}: {words[0]}" if name in self.fields else str(words[0])
            for name, words in self.errors.items()
        ]
        for place, row in enumerate(self.rows, start=1):
            said += [f"Row {place}, {row[n].label.lower()}: {e[0]}" for n, e in row.errors.items()]
        return said

    def is_valid(self) -> bool:
        """Return whether every box can be read, those of the rows too."""
        return all([super().is_valid(), *(row.is_valid() for row in self.rows)])

    def clean(self) -> dict[str, Any]:
        """Add the rows, so that a request that is repeated is known by them too."""
        typed: dict[str, Any] = super().clean() or self.cleaned_data
        return {**typed, "rows": [row_texts(self.texts, row.number) for row in self.rows]}

    def method(self, before: Mapping[str, Any]) -> MethodFacts:
        """Return what is said of the method; what has no box here stays as it was ``before``."""
        boxes = MethodFacts.__dataclass_fields__.keys() & self.fields.keys()
        typed = {name: self.cleaned_data[name] for name in boxes}
        return MethodFacts(**{**before, **typed, "kind": self.kind})

    def refuse(self, refusal: Refusal) -> None:
        """Put a refusal beside the box it is about."""
        box = BOX_OF.get(refusal.code)
        self.add_error(box if box in self.fields else None, f"{refusal.what} {refusal.remedy}")
