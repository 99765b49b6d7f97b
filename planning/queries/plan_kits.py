"""The kits, makes and bills of a plan, read in as few rows as it needs.

A make is a kit with the yeast and the substitutes it is packed with. Bitterness is planned in alpha
acid: a row's alpha is what a milligram of the reference hop would have had to hold on pack day,
because what is lost in the pouch is the same share for every lot.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import nan
from typing import Any, NamedTuple

import numpy as np
from django.db.models import F, Q

from inventory.ageing.hops import (
    STORAGE_FACTORS,
    decay_rate,
    remaining_share,
    temperature_factor,
)
from inventory.queries.hops import Pouch
from planning.engine.plan_input import IntArray, MakeRows, PlanItem, PlanKit, StandIn
from recipes.brewing.roles import HopRole
from recipes.models import Kit, KitBillLine, KitBillSubstitute, Part, RevisionState

BY_ALPHA = (HopRole.ABSORB, HopRole.HOLD_BITTERNESS)
"""Roles of which the bitterness counts; the weight of the others stays as it is."""

Chosen = tuple[tuple[str, int], ...]
"""Rows of a bill by key, and the frozen substitutes that are used for them."""


@dataclass(frozen=True, kw_only=True)
class Pitch:
    """What a make asks of a yeast: packs on the bill, fresh packs asked for, floor, shelf days."""

    item: int
    packs: int
    asked: float
    floor: float
    shelf_days: int


@dataclass(frozen=True, kw_only=True)
class KnownItems:
    """The items of the plan, and what bills need to know of the hops and yeasts among them."""

    items: tuple[PlanItem, ...]
    place: Mapping[int, int]
    hop_rates: Mapping[int, float]
    yeast_floors: Mapping[int, float]


@dataclass(frozen=True, kw_only=True)
class KitRows:
    """Kits in their places, with the rows of their frozen bills by kit."""

    kits: tuple[PlanKit, ...]
    place: Mapping[int, int]
    floors: Mapping[int, float | None]
    bills: Mapping[int, Sequence[_Row]]
    substitutes: Mapping[int, _Row]
    stand_ins: tuple[tuple[int, str, _Row], ...]


class _Row(NamedTuple):
    """A row of a bill, light: a plan reads thousands."""

    key: str
    item_id: int
    packed: int
    exact: float
    overage: float
    part: str
    role: str
    reference_alpha: float | None
    is_yeast_option: bool

    @property
    def dispatch(self) -> bool:
        return self.part == Part.DISPATCH


def kit_rows(known: KnownItems, kit_ids: Iterable[int]) -> KitRows:
    """Return the kits that are offered, and these, with their bills; three statements."""
    fields = (
        "id", "item_id", "shelf_days", "minimum_kits", "multiple_kits", "first_pack_on",
        "last_pack_on", "last_sale_on", "price", "floor_share", "offered",
    )  # fmt: skip
    kits = Kit.objects.filter(Q(offered=True) | Q(pk__in=list(kit_ids)))
    kits = kits.order_by("item__code")
    found = list(kits.annotate(state=F("method__revision__state")).values(*fields, "state"))
    made = tuple(_kit(row, known) for row in found)
    place = {kit.kit_id: at for at, kit in enumerate(made)}
    bills: dict[int, list[_Row]] = defaultdict(list)
    keys: dict[int, _Row] = {}
    lines = KitBillLine.objects.filter(kit__in=list(place)).order_by("kit_id", "position")
    for pk, kit_id, *facts in lines.values_list("id", "kit_id", *_Row._fields):
        keys[pk] = row = _Row._make(facts)
        bills[kit_id].append(row)
    substitutes, stand_ins = _substitutes(place, keys)
    return KitRows(
        kits=made,
        place=place,
        floors={row["id"]: row["floor_share"] for row in found},
        bills=bills,
        substitutes=substitutes,
        stand_ins=stand_ins,
    )


def _kit(row: Mapping[str, Any], known: KnownItems) -> PlanKit:
    return PlanKit(
        kit_id=row["id"],
        item=known.place[row["item_id"]],
        shelf_days=row["shelf_days"],
        minimum=row["minimum_kits"],
        multiple=row["multiple_kits"],
        first_pack_on=row["first_pack_on"],
        last_pack_on=row["last_pack_on"],
        last_sale_on=row["last_sale_on"],
        packable=row["offered"] and row["state"] == RevisionState.OFFERED,
        price=row["price"],
    )


def _substitutes(
    place: Mapping[int, int], rows: Mapping[int, _Row]
) -> tuple[dict[int, _Row], tuple[tuple[int, str, _Row], ...]]:
    """Return every frozen substitute as a row in its place, by id; and by kit and key."""
    found: dict[int, _Row] = {}
    named = []
    approved = KitBillSubstitute.objects.filter(bill_line__kit__in=list(place)).order_by("pk")
    for pk, line_id, kit_id, item_id, packed, exact, overage, alpha in approved.values_list(
        "id", "bill_line_id", "bill_line__kit_id", "item_id", "packed", "exact", "overage",
        "reference_alpha",
    ):  # fmt: skip
        row = rows[line_id]
        found[pk] = row._replace(
            item_id=item_id, packed=packed, exact=exact, overage=overage, reference_alpha=alpha
        )
        named.append((kit_id, row.key, found[pk]))
    return found, tuple(named)


@dataclass(kw_only=True)
class Makes:
    """Makes as they are asked for, each bill laid out once."""

    known: KnownItems
    kits: KitRows
    pouch: Pouch
    kit_of: list[int] = field(default_factory=list)
    pitches: dict[Pitch, int] = field(default_factory=dict)
    _places: dict[tuple[int, int | None, Chosen], int] = field(default_factory=dict)
    _lines: list[tuple[int, int, int, float, bool, float, int]] = field(default_factory=list)

    def __post_init__(self) -> None:
        for kit in self.kits.kits:
            self.make(kit.kit_id, None, ())

    def make(self, kit_id: int, yeast_id: int | None, chosen: Chosen) -> int:
        """Return the place of a make, which is added if it is new.

        A yeast that is the usual one, or none of the kit's, makes no difference.
        """
        bill = self.kits.bills.get(kit_id, ())
        options = [row.item_id for row in bill if row.is_yeast_option]
        usual = options[0] if options else None
        yeast = usual if yeast_id not in options else yeast_id
        place = self._places.get((kit_id, yeast, chosen))
        if place is None:
            place = len(self.kit_of)
            self._places[kit_id, yeast, chosen] = place
            self.kit_of.append(self.kits.place[kit_id])
            used = {key: self.kits.substitutes[row] for key, row in chosen}
            for row in bill:
                if not row.is_yeast_option or row.item_id == yeast:
                    self._lay(place, kit_id, used.get(row.key, row))
        return place

    def _lay(self, make: int, kit_id: int, row: _Row) -> None:
        item = self.known.place[row.item_id]
        pitch, alpha = -1, nan
        if row.is_yeast_option and row.item_id in self.known.yeast_floors:
            pitch = self._pitch(kit_id, item, row)
        if row.role in BY_ALPHA and row.reference_alpha:
            alpha = row.reference_alpha / self._kept(row.item_id, kit_id)
        self._lines.append((make, item, row.packed, row.overage, row.dispatch, alpha, pitch))

    def _pitch(self, kit_id: int, item: int, row: _Row) -> int:
        floor = self.kits.floors[kit_id]
        pitch = Pitch(
            item=item,
            packs=row.packed,
            asked=row.exact,
            floor=self.known.yeast_floors[row.item_id] if floor is None else floor,
            shelf_days=self._shelf_days(kit_id),
        )
        return self.pitches.setdefault(pitch, len(self.pitches))

    def _shelf_days(self, kit_id: int) -> int:
        return self.kits.kits[self.kits.place[kit_id]].shelf_days

    def _kept(self, item_id: int, kit_id: int) -> float:
        """Return the share of a hop's alpha acid that is left after its days in the pouch."""
        days = self._shelf_days(kit_id) * temperature_factor(self.pouch.temperature_c)
        rate = self.known.hop_rates.get(item_id, 0.0)
        return remaining_share(rate, days * STORAGE_FACTORS[self.pouch.packing])

    def rows(self) -> MakeRows:
        """Return the bills of all makes."""
        columns: Sequence[Any] = tuple(zip(*self._lines, strict=True)) or ((),) * 7
        make, item, packed, overage, dispatch, alpha, pitch = columns
        return MakeRows(
            make=_whole(make),
            item=_whole(item),
            packed=_whole(packed),
            overage=np.array(overage, dtype=float),
            dispatch=np.array(dispatch, dtype=bool),
            alpha=np.array(alpha, dtype=float),
            pitch=_whole(pitch),
        )

    def stand_ins(self) -> tuple[StandIn, ...]:
        """Return what may stand for what in each kit as it is usually packed."""
        stands_for = {
            (kit_id, row.key): row.item_id
            for kit_id, bill in self.kits.bills.items()
            for row in bill
        }
        return tuple(
            StandIn(
                make=self.kits.place[kit_id],
                item=self.known.place[row.item_id],
                stands_for=self.known.place[stands_for[kit_id, key]],
                packed=row.packed,
            )
            for kit_id, key, row in self.kits.stand_ins
        )


def hop_rate(lost_in_six_months: float) -> float:
    """Return the exponential rate of a variety, per day loose at 20 C."""
    return float(decay_rate(lost_in_six_months))


def _whole(values: Any) -> IntArray:
    return np.array(values, dtype=np.int64)
