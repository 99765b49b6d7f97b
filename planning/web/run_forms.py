"""The form that plans or changes a run: a day, and a number beside each kit that is offered."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms

from boxwort.web.days import DayInput
from inventory.models import Item
from planning.models import Run, RunLine
from planning.queries.kit_choices import KitChoice
from planning.services.runs import KitsAsked
from recipes.models import MOST_KITS


@dataclass(frozen=True)
class FormRow:
    """One kit of the form: what it is, and its boxes."""

    choice: KitChoice
    kits: forms.BoundField
    yeast: forms.BoundField | None


class RunForm(forms.Form):
    """A run as it is planned."""

    pack_on = forms.DateField(label="Pack on", widget=DayInput)
    note = forms.CharField(label="Note", max_length=200, required=False)
    version = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def __init__(self, choices: Sequence[KitChoice], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.choices = choices
        for choice in choices:
            self._add(choice)

    def _add(self, choice: KitChoice) -> None:
        name = choice.kit.item.name
        self.fields[f"kits_{choice.kit.pk}"] = forms.IntegerField(
            label=f"Kits of {name}",
            required=False,
            min_value=0,
            max_value=MOST_KITS,
            widget=forms.NumberInput(attrs={"aria-label": f"Kits of {name}", "min": 0}),
        )
        if len(choice.yeasts) > 1:
            self.fields[f"yeast_{choice.kit.pk}"] = forms.TypedChoiceField(
                label=f"Yeast for {name}",
                required=False,
                coerce=int,
                empty_value=None,
                choices=choice.yeasts,
                widget=forms.Select(attrs={"aria-label": f"Yeast for {name}"}),
            )

    def rows(self) -> Iterator[FormRow]:
        """Yield the kits with their boxes, for the table of the form."""
        for choice in self.choices:
            yeast = f"yeast_{choice.kit.pk}"
            yield FormRow(
                choice=choice,
                kits=self[f"kits_{choice.kit.pk}"],
                yeast=self[yeast] if yeast in self.fields else None,
            )

    def clean(self) -> dict[str, Any]:
        """Refuse a run without kits."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        asked = any(cleaned.get(name) for name in self.fields if name.startswith("kits_"))
        if not asked and not self.errors:
            msg = "Write how many to pack beside at least one kit."
            raise forms.ValidationError(msg)
        return cleaned

    def asked(self) -> list[KitsAsked]:
        """Return the kits asked for, in the order of the form."""
        numbers = {choice: self._kits(choice) for choice in self.choices}
        yeasts = Item.objects.in_bulk(
            {pk for choice in self.choices if (pk := self._yeast_id(choice)) is not None}
        )
        return [
            KitsAsked(kit=choice.kit, kits=kits, yeast=yeasts.get(self._yeast_id(choice) or 0))
            for choice, kits in numbers.items()
            if kits
        ]

    def lines(self, run: Run | None = None) -> list[RunLine]:
        """Return the same as run lines that are not saved, to see what is possible.

        Those of kits that a run packs already are known by its lines, for their substitutes.
        """
        known = dict(run.lines.values_list("kit_id", "pk")) if run else {}
        return [
            RunLine(
                pk=known.get(asked.kit.pk),
                position=position,
                kit=asked.kit,
                kits=asked.kits,
                yeast=asked.yeast,
            )
            for position, asked in enumerate(self.asked(), start=1)
        ]

    def _kits(self, choice: KitChoice) -> int:
        return self.cleaned_data.get(f"kits_{choice.kit.pk}") or 0

    def _yeast_id(self, choice: KitChoice) -> int | None:
        chosen: int | None = self.cleaned_data.get(f"yeast_{choice.kit.pk}")
        return chosen


def form_of(run: Run, choices: Sequence[KitChoice]) -> RunForm:
    """Return the form filled in with a run as it stands."""
    initial: dict[str, Any] = {"pack_on": run.pack_on, "note": run.note, "version": run.version}
    for line in run.lines.all():
        initial[f"kits_{line.kit_id}"] = line.kits
        initial[f"yeast_{line.kit_id}"] = line.yeast_id
    return RunForm(choices, initial=initial)


def new_form(choices: Sequence[KitChoice], on: date) -> RunForm:
    """Return the form for a new run."""
    return RunForm(choices, initial={"pack_on": on})
