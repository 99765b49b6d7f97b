"""Where lots have lain and how warm it was there, read from the moves and the places' history.

What came out of kits that were broken down lay where those kits lay, from the day it was packed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Any, TypeVar

from django.db.models import F, Q, QuerySet

from inventory.models import ConversionKind, Move, PlaceKind, PlaceTemperature

T = TypeVar("T")
UNKNOWN_C = 20.0
UNKNOWN_NOTE = "The temperature is not known for {days} days of storage; 20 C is taken."


@dataclass(frozen=True, kw_only=True)
class Stay:
    """Whole days at one temperature, degrees C; ``known`` is false where 20 C had to be taken."""

    days: int
    temperature_c: float
    known: bool


@dataclass(frozen=True, kw_only=True)
class Whereabouts:
    """The place that held most of a lot, from a day on, and how warm the places were.

    ``lay``: (from day, place) in order. ``warmth``: by place, (from day, degrees C) in order.
    """

    lay: Sequence[tuple[date, int]]
    warmth: Mapping[int, Sequence[tuple[date, float]]]

    def stays(self, start: date, end: date) -> list[Stay]:
        """Return the days from ``start`` up to ``end`` as stays; a day has one temperature."""
        found: list[Stay] = []
        edges = sorted({start, end, *(day for day in self._changes() if start < day < end)})
        for day, following in pairwise(edges):
            temperature = self._temperature(day)
            stay = Stay(
                days=(following - day).days,
                temperature_c=UNKNOWN_C if temperature is None else temperature,
                known=temperature is not None,
            )
            _append(found, stay)
        return found if start < end else []

    def _changes(self) -> Iterable[date]:
        yield from (day for day, _ in self.lay)
        yield from (day for _, place in self.lay for day, _ in self.warmth.get(place, ()))

    def _temperature(self, day: date) -> float | None:
        place = _standing(self.lay, day)
        return None if place is None else _standing(self.warmth.get(place, ()), day)


def whereabouts_of(lot_ids: Iterable[int]) -> dict[int, Whereabouts]:
    """Return where each lot lay and how warm it was; two statements."""
    lay = _main_places(list(lot_ids))
    places = {place for held in lay.values() for _, place in held}
    warmth: dict[int, list[tuple[date, float]]] = defaultdict(list)
    rows = PlaceTemperature.objects.filter(place__in=places).order_by("place", "from_on")
    for place, from_on, temperature in rows.values_list("place_id", "from_on", "temperature_c"):
        warmth[place].append((from_on, temperature))
    return {lot: Whereabouts(lay=held, warmth=warmth) for lot, held in lay.items()}


def unknown_note(stays: Iterable[Stay]) -> tuple[str, ...]:
    """Return the note owed where the temperature of some days had to be taken, or none."""
    days = sum(stay.days for stay in stays if not stay.known)
    return (UNKNOWN_NOTE.format(days=days),) if days else ()


def _main_places(lot_ids: list[int]) -> dict[int, list[tuple[date, int]]]:
    """Return the place that holds most of each lot at the end of each day on which it moved.

    A tie goes to the older place; a lot that is used up stays where it last lay.
    """
    held: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))
    lay: dict[int, list[tuple[date, int]]] = defaultdict(list)
    broken: dict[int, int] = {}  # the kits, by the work that broke them down
    work_of: dict[int, int] = {}
    for row in _moves(lot_ids):
        if row["start_kind"] == PlaceKind.STORAGE:
            held[row["lot"]][row["start"]] -= row["quantity"]
        if row["end_kind"] == PlaceKind.STORAGE:
            held[row["lot"]][row["end"]] += row["quantity"]
        _note_place(lay[row["lot"]], held[row["lot"]], row["day"])
        if row["work_kind"] == ConversionKind.BREAK_DOWN:
            if row["end_kind"] == PlaceKind.PRODUCTION:
                broken.setdefault(row["work"], row["lot"])
            elif row["start_kind"] == PlaceKind.PRODUCTION:
                work_of[row["lot"]] = row["work"]
    return {
        lot: _since_packed(lay[broken[work_of[lot]]], lay[lot]) if lot in work_of else lay[lot]
        for lot in lot_ids
    }


def _moves(lot_ids: list[int]) -> QuerySet[Move, Any]:
    """Return the moves of these lots, and of the kits that any of them came out of, in order."""
    kits = Move.objects.filter(
        posting__conversion__outputs__in=lot_ids,
        posting__conversion__kind=ConversionKind.BREAK_DOWN,
        to_place__kind=PlaceKind.PRODUCTION,
    ).values("lot")
    rows = Move.objects.filter(Q(lot__in=lot_ids) | Q(lot__in=kits))
    return rows.order_by("posting__occurred_on", "pk").values(
        "lot",
        "quantity",
        day=F("posting__occurred_on"),
        start=F("from_place"),
        start_kind=F("from_place__kind"),
        end=F("to_place"),
        end_kind=F("to_place__kind"),
        work=F("posting__conversion"),
        work_kind=F("posting__conversion__kind"),
    )


def _since_packed(
    in_kits: Sequence[tuple[date, int]], since: Sequence[tuple[date, int]]
) -> list[tuple[date, int]]:
    """Return where something lay in kits and, since they were broken down, as a lot of its own."""
    return [*(stay for stay in in_kits if not since or stay[0] < since[0][0]), *since]


def _note_place(lay: list[tuple[date, int]], held: Mapping[int, int], day: date) -> None:
    if not any(quantity > 0 for quantity in held.values()):
        return
    place = max(held, key=lambda found: held[found])
    if lay and lay[-1][0] == day:
        lay.pop()
    if not lay or lay[-1][1] != place:
        lay.append((day, place))


def _standing(dated: Sequence[tuple[date, T]], day: date) -> T | None:
    standing = None
    for from_on, value in dated:
        if from_on > day:
            break
        standing = value
    return standing


def _append(found: list[Stay], stay: Stay) -> None:
    last = found[-1] if found else None
    if last and (last.temperature_c, last.known) == (stay.temperature_c, stay.known):
        stay = Stay(days=last.days + stay.days, temperature_c=stay.temperature_c, known=stay.known)
        found.pop()
    found.append(stay)
