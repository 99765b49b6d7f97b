"""Makes: kits with the yeast and the substitutes they are packed with, and what each takes.

Bitterness is planned in alpha acid: a row's alpha is what a milligram of the reference hop would
have had to hold on pack day, because what is lost in the pouch is the same share for every lot.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from math import nan
from typing import Any

import numpy as np

from inventory.ageing.hops import STORAGE_FACTORS, remaining_share, temperature_factor
from inventory.queries.hops import Pouch
from planning.engine.plan_input import IntArray, MakeRows, StandIn
from planning.queries.plan_kits import BillRow, KitRows, KnownItems, Pitch
from recipes.brewing.roles import HopRole
from recipes.models import Part

_BY_ALPHA = {str(HopRole.ABSORB), str(HopRole.HOLD_BITTERNESS)}
"""Roles of which the bitterness counts; the weight of the others stays as it is."""
_DISPATCH = str(Part.DISPATCH)
_NO_PITCH = -1

Chosen = tuple[tuple[str, int], ...]
"""Rows of a bill by key, and the frozen substitutes that are used for them."""


@dataclass(kw_only=True)
class Makes:
    """Makes as they are asked for, each bill laid out once."""

    known: KnownItems
    kits: KitRows
    pouch: Pouch
    kit_of: list[int] = field(default_factory=list)
    pitches: dict[Pitch, int] = field(default_factory=dict)
    _places: dict[tuple[int, int | None, Chosen], int] = field(default_factory=dict)
    _laid: list[tuple[int, BillRow]] = field(default_factory=list)
    _shares: dict[tuple[int, int], float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for kit in self.kits.kits:
            self.make(kit.kit_id, None, ())

    @cached_property
    def _bills(self) -> dict[int, list[BillRow]]:
        """The rows of each kit."""
        found: dict[int, list[BillRow]] = defaultdict(list)
        for row in self.kits.rows:
            found[row.kit_id].append(row)
        return found

    @cached_property
    def _options(self) -> dict[int, list[int]]:
        """The yeasts of each kit that has any, the usual one first."""
        found: dict[int, list[int]] = defaultdict(list)
        for row in self.kits.rows:
            if row.is_yeast_option:
                found[row.kit_id].append(row.item_id)
        return found

    def make(self, kit_id: int, yeast_id: int | None, chosen: Chosen) -> int:
        """Return the place of a make, which is added if it is new.

        A yeast that is the usual one, or none of the kit's, makes no difference.
        """
        options = self._options.get(kit_id, ())
        yeast = yeast_id if yeast_id in options else next(iter(options), None)
        place = self._places.get((kit_id, yeast, chosen))
        if place is None:
            place = len(self.kit_of)
            self._places[kit_id, yeast, chosen] = place
            self.kit_of.append(self.kits.place[kit_id])
            used = {key: self.kits.substitutes[row].row for key, row in chosen}
            self._laid += [
                (place, used.get(row.key, row) if used else row)
                for row in self._bills.get(kit_id, ())
                if not row.is_yeast_option or row.item_id == yeast
            ]
        return place

    def rows(self) -> MakeRows:
        """Return the bills of all makes, laid out column by column."""
        make = [make for make, _ in self._laid]
        place, rows = self.known.place, [row for _, row in self._laid]
        columns: Sequence[Any] = tuple(zip(*rows, strict=True)) or ((),) * len(BillRow._fields)
        laid = dict(zip(BillRow._fields, columns, strict=True))
        pitch, alpha = np.full(len(make), _NO_PITCH), np.full(len(make), nan)
        for at in np.flatnonzero(np.array(laid["is_yeast_option"], dtype=bool)).tolist():
            pitch[at] = self._pitch(rows[at])
        for at in [at for at, role in enumerate(laid["role"]) if role in _BY_ALPHA]:
            alpha[at] = self._alpha(rows[at])
        return MakeRows(
            make=_whole(make),
            item=_whole([place[item_id] for item_id in laid["item_id"]]),
            packed=_whole(laid["packed"]),
            overage=np.array(laid["overage"], dtype=float),
            dispatch=np.array([part == _DISPATCH for part in laid["part"]], dtype=bool),
            alpha=alpha,
            pitch=pitch,
        )

    def _alpha(self, row: BillRow) -> float:
        """Return the alpha acid, a share on pack day, that a hop stands for; nan: its weight."""
        if not row.reference_alpha:
            return nan
        return row.reference_alpha / self._kept(row.item_id, self._shelf_days(row.kit_id))

    def _pitch(self, row: BillRow) -> int:
        usual_floor = self.known.yeast_floors.get(row.item_id)
        if usual_floor is None:
            return _NO_PITCH
        floor = self.kits.floors[row.kit_id]
        pitch = Pitch(
            item=self.known.place[row.item_id],
            packs=row.packed,
            asked=row.exact,
            floor=usual_floor if floor is None else floor,
            shelf_days=self._shelf_days(row.kit_id),
        )
        return self.pitches.setdefault(pitch, len(self.pitches))

    def _shelf_days(self, kit_id: int) -> int:
        return self.kits.kits[self.kits.place[kit_id]].shelf_days

    def _kept(self, item_id: int, shelf_days: int) -> float:
        """Return the share of a hop's alpha acid that is left after its days in the pouch."""
        if (item_id, shelf_days) not in self._shares:
            days = shelf_days * temperature_factor(self.pouch.temperature_c)
            rate = self.known.hop_rates.get(item_id, 0.0)
            share = remaining_share(rate, days * STORAGE_FACTORS[self.pouch.packing])
            self._shares[item_id, shelf_days] = share
        return self._shares[item_id, shelf_days]

    def stand_ins(self) -> tuple[StandIn, ...]:
        """Return what may stand for what in each kit as it is usually packed."""
        return tuple(
            StandIn(
                make=self.kits.place[each.row.kit_id],
                item=self.known.place[each.row.item_id],
                stands_for=self.known.place[each.stands_for],
                packed=each.row.packed,
            )
            for each in self.kits.substitutes.values()
        )


def _whole(values: Sequence[int]) -> IntArray:
    return np.array(values, dtype=np.int64)
