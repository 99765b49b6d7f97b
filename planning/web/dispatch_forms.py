"""The form of a dispatch: how many boxes take what from which lot."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils import timezone

from boxwort.quantities import Measure, natural_unit
from boxwort.web.amounts import AmountField, exact_amount
from boxwort.web.days import DayInput
from boxwort.web.operations_api import FARTHEST
from planning.engine.boxes import Share
from planning.queries.dispatch_boxes import Picks
from planning.queries.dispatch_offers import LineChoice, LotOffer, OrderChoice, RowChoice
from planning.queries.dispatch_stock import EXTRA, ICE, KIT

_MOST = 10**9
_PICK = "pick_"


class DayForm(forms.Form):
    """The day to look at; today unless one is asked for."""

    on = forms.DateField(label="Leaves on", widget=DayInput)

    def clean_on(self) -> date:
        """Refuse a day that can only be a slip of the pen."""
        day: date = self.cleaned_data["on"]
        if abs(day - timezone.localdate()) > FARTHEST:
            msg = "This day is more than ten years away. Check its year."
            raise forms.ValidationError(msg)
        return day


@dataclass(frozen=True, kw_only=True)
class PickRow:
    """A lot of the list with its box; no box where the lot may not go."""

    offer: LotOffer
    pick: forms.BoundField | None


@dataclass(frozen=True, kw_only=True)
class PickGroup:
    """What one line takes of one kind of thing."""

    line: LineChoice
    row: RowChoice
    lots: tuple[PickRow, ...]


@dataclass(frozen=True, kw_only=True)
class PickList:
    """A stretch of the pick list: kits, extras, what is added, ice, and yeast at the end."""

    title: str
    note: str
    groups: tuple[PickGroup, ...]


_LISTS = (
    ("Kits", "First expired first."),
    ("Extras", "Beside the kits."),
    ("Added to the boxes", "Each box takes everything of one kind from one lot."),
    ("Ice", "For boxes with liquid yeast in the warm season of the zone."),
    ("Yeast, picked last", "The oldest lot that still reaches its target on brew day."),
)


class PickForm(forms.Form):
    """Boxes by lot, as they are proposed until somebody changes them."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    shipped_on = forms.DateField(widget=forms.HiddenInput)

    def __init__(self, choice: OrderChoice, system: str, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.choice = choice
        self.initial = {
            "version": choice.order.version,
            "shipped_on": choice.way.shipped_on.isoformat(),
        }
        for line, row, offer in self._offers():
            self.fields[_name(line, row, offer)] = _field(row, offer, system)

    def lists(self) -> Iterator[PickList]:
        """Yield the stretches of the pick list that hold something."""
        for number, (title, note) in enumerate(_LISTS):
            groups = tuple(
                self._group(line, row)
                for line in self.choice.lines
                for row in line.rows
                if _list_of(row) == number
            )
            if groups:
                yield PickList(title=title, note=note, groups=groups)

    def picks(self) -> Picks:
        """Return what was picked; lines of which nothing was are left out."""
        found: dict[int, dict[str, list[Share]]] = {}
        for line in self.choice.lines:
            things: dict[str, list[Share]] = {row.key: [] for row in line.rows}
            for row in line.rows:
                for offer in row.offers:
                    boxes = self.cleaned_data.get(_name(line, row, offer)) or 0
                    if boxes:
                        things[row.key].append(Share(lot=offer.lot.pk, boxes=boxes))
            if any(things.values()):
                found[line.line.pk] = things
        return found

    def _group(self, line: LineChoice, row: RowChoice) -> PickGroup:
        lots = tuple(
            PickRow(
                offer=offer,
                pick=None if offer.verdict.refused else self[_name(line, row, offer)],
            )
            for offer in row.offers
        )
        return PickGroup(line=line, row=row, lots=lots)

    def _offers(self) -> Iterator[tuple[LineChoice, RowChoice, LotOffer]]:
        for line in self.choice.lines:
            for row in line.rows:
                for offer in row.offers:
                    if not offer.verdict.refused:
                        yield line, row, offer


def payload(posted: QueryDict) -> dict[str, Any]:
    """Return what was sent, without its key: the same form sent again is the same request.

    What is read from a form depends on what is still open, and the first sending changes that.
    """
    return {
        name: value
        for name, value in posted.items()
        if name in ("version", "shipped_on") or name.startswith(_PICK)
    }


def _name(line: LineChoice, row: RowChoice, offer: LotOffer) -> str:
    return f"{_PICK}{line.line.pk}_{row.key}_{offer.lot.pk}"


def _field(row: RowChoice, offer: LotOffer, system: str) -> forms.Field:
    label = f"{row.name}, lot {offer.lot.code}"
    field: forms.Field
    if row.key == EXTRA and row.measure != Measure.COUNT:
        measure = Measure(row.measure)
        unit = natural_unit(max(1, row.wanted), measure, system)
        field = AmountField(
            measure=measure,
            unit=unit,
            required=False,
            initial=exact_amount(offer.boxes, measure, system) if offer.boxes else "",
            label=f"{label}, in {unit}",
        )
    else:
        field = forms.IntegerField(
            required=False,
            min_value=0,
            max_value=_MOST,
            initial=offer.boxes,
            label=f"{label}, {'pieces' if row.key == EXTRA else 'boxes'}",
        )
    field.widget.attrs["aria-label"] = field.label
    return field


def _list_of(row: RowChoice) -> int:
    """Return the stretch of the pick list that a kind of thing stands in."""
    if row.is_yeast:
        return 4
    return {KIT: 0, EXTRA: 1, ICE: 3}.get(row.key, 2)
