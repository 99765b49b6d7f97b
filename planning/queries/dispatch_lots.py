"""Whether a lot may go with an order on a day, and what it would give: one judgement of each.

The form offers what is judged here, and the service refuses by the same words. Yeast is judged on
its own journey: it leaves on the ship day, is on the way as long and as warm as the zone is, and
then waits for the brew day, the ship day and the kit's shelf allowance.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from boxwort.figures import on_date, share
from inventory.models import ItemKind, Lot, LotStatus
from inventory.queries.yeasts import Journey
from planning.engine.pitching import last_day, starter_litres
from planning.engine.shipping import Route
from planning.models import OrderLine
from planning.queries.dispatch_stock import Added, DispatchStock
from planning.queries.pitches import Pitch
from recipes.queries.bills import BillRow

_STATUS = {
    LotStatus.QUARANTINE: "in quarantine",
    LotStatus.ON_HOLD: "on hold",
    LotStatus.REJECTED: "rejected",
}
LEAST_DAYS_LEFT = 14
"""Days that what is chosen for a box should keep beyond its arrival; our own rule."""


@dataclass(frozen=True, kw_only=True)
class Way:
    """One way to a customer: the day it begins, the day it ends, and how warm it is."""

    route: Route
    shipped_on: date

    @property
    def arrives_on(self) -> date:
        """The day on which the boxes arrive."""
        return self.route.arrival_day(self.shipped_on)

    @property
    def is_warm(self) -> bool:
        """Whether it is in the warm season."""
        return self.route.is_warm(self.shipped_on)

    @property
    def temperature_c(self) -> float:
        """How warm it is on the way, Celsius."""
        return self.route.temperature(self.shipped_on)

    def brew_day(self, line: OrderLine) -> date:
        """Return the day on which the customer of a line's kit is expected to brew."""
        days = line.kit.shelf_days if line.kit else 0
        return self.shipped_on + timedelta(days=days)

    def journey(self, shelf_temperature_c: float) -> Journey:
        """Return the journey that yeast makes in a box."""
        return Journey(
            transit_days=self.route.transit_days,
            transit_temperature_c=self.temperature_c,
            shelf_temperature_c=shelf_temperature_c,
        )


@dataclass(frozen=True, kw_only=True)
class LotVerdict:
    """What is said of a lot: why it may not go, what to know where it may; empty, all is well.

    Both are what follows on the name of the lot, as in "is on hold".
    ``ready``: it is chosen without being asked for. ``pitch`` is of yeast.
    """

    refused: str = ""
    note: str = ""
    ready: bool = True
    pitch: Pitch | None = None


def kit_verdict(lot: Lot, line: OrderLine, way: Way, stock: DispatchStock) -> LotVerdict:
    """Judge a lot of finished kits for an order line."""
    packed = stock.batches.get(lot.pk)
    asked = line.yeast_id
    if packed and packed.yeast_id and asked and packed.yeast_id != asked:
        return LotVerdict(refused="was packed with another yeast", ready=False)
    leaves_from = stock.calendar.shifted(
        lot.packaged_on or lot.received_on, stock.site.pack_lead_days
    )
    if stock.site.pack_lead_days and way.shipped_on < leaves_from:
        return LotVerdict(refused=f"can leave from {on_date(leaves_from)}", ready=False)
    return _dated(lot, way, least=LEAST_DAYS_LEFT)


def goods_verdict(lot: Lot, way: Way) -> LotVerdict:
    """Judge a lot of an extra, or of something that goes into the box as it is."""
    return _dated(lot, way, least=LEAST_DAYS_LEFT)


def ice_verdict(lot: Lot, way: Way) -> LotVerdict:
    """Judge a lot of ice, which does its work on the way."""
    return _dated(lot, way, least=0)


def added_verdict(
    lot: Lot, added: Added, line: OrderLine, way: Way, stock: DispatchStock
) -> LotVerdict:
    """Judge a lot of something that is added to the box."""
    row = added.rows[lot.item_id]
    if row.is_yeast_option:
        return _yeast_verdict(lot, row, line, way, stock)
    if not line.crushed and lot.crushed_on is not None:
        return LotVerdict(refused="is crushed, and this line is whole", ready=False)
    verdict = goods_verdict(lot, way)
    if verdict.refused or not is_grain(lot) or lot.crushed_on is not None or not line.crushed:
        return verdict
    crushing = "is to be crushed for the box"
    note = f"{verdict.note} and {crushing}" if verdict.note else crushing
    return LotVerdict(note=note, ready=verdict.ready)


def is_grain(lot: Lot) -> bool:
    """Return whether a lot is grain, which goes crushed or whole."""
    return lot.item.kind == ItemKind.GRAIN


def pitch_in_box(
    lot_id: int, row: BillRow, brewed_on: date, *, way: Way, stock: DispatchStock
) -> Pitch:
    """Return what a lot gives a box of which the yeast is pitched on a day."""
    alive = stock.yeasts.pitched_on(
        lot_id, way.shipped_on, brewed_on, way.journey(stock.site.yeast_shelf_temperature_c)
    )
    return Pitch(
        alive=alive,
        packs=row.packed,
        asked=row.exact,
        target=alive.target_share if row.pitch_target is None else row.pitch_target,
        floor=alive.floor_share if row.pitch_floor is None else row.pitch_floor,
    )


def yeast_in_box(
    lot_id: int, row: BillRow, brew_on: date, *, way: Way, stock: DispatchStock
) -> Mapping[str, object]:
    """Return what a box says of its yeast: its pitch on brew day, its best use, and a starter.

    ``best_by`` is the last day on which the packs reach the target, ``last_on`` the floor; None:
    not even on the ship day.
    """

    def given(day: date) -> Pitch:
        return pitch_in_box(lot_id, row, day, way=way, stock=stock)

    pitch = given(brew_on)
    per_l = stock.site.starter_billion_per_l * 1e9
    grown = pitch.starter(per_l)
    return {
        "packs": row.packed,
        "form": pitch.alive.form,
        "pitched": pitch.pitched,
        "target": pitch.target,
        "floor": pitch.floor,
        "best_by": last_day(lambda day: given(day).full, way.shipped_on),
        "last_on": last_day(lambda day: given(day).serves, way.shipped_on),
        "starter_l": starter_litres(pitch.cells_missing, per_l) if grown else None,
    }


def _yeast_verdict(
    lot: Lot, row: BillRow, line: OrderLine, way: Way, stock: DispatchStock
) -> LotVerdict:
    dated = _dated(lot, way, least=0)
    if dated.refused:
        return dated
    pitch = pitch_in_box(lot.pk, row, way.brew_day(line), way=way, stock=stock)
    given = f"gives {share(pitch.pitched, 0)} of the pitch on {on_date(way.brew_day(line))}"
    if not pitch.serves:
        floor = f"{given}, below the floor of {share(pitch.floor, 0)}"
        return LotVerdict(refused=floor, ready=False, pitch=pitch)
    if pitch.full:
        return LotVerdict(note=given, pitch=pitch)
    note = f"{given}, below the target of {share(pitch.target, 0)}: the box advises what to do"
    return LotVerdict(note=note, pitch=pitch)


def _dated(lot: Lot, way: Way, *, least: int) -> LotVerdict:
    """Judge a lot by its status and its dates; it must keep until it arrives."""
    if lot.status != LotStatus.RELEASED:
        return LotVerdict(refused=f"is {_STATUS[LotStatus(lot.status)]}", ready=False)
    if way.shipped_on < lot.received_on:
        return LotVerdict(refused=f"came on {on_date(lot.received_on)}", ready=False)
    until = lot.best_before_on
    if until is None:
        return LotVerdict()
    if until < way.arrives_on:
        late = f"is best before {on_date(until)}, and arrives on {on_date(way.arrives_on)}"
        return LotVerdict(refused=late, ready=False)
    left = (until - way.arrives_on).days
    if left < least:
        days = "1 day" if left == 1 else f"{left} days"
        return LotVerdict(note=f"keeps {days} after it arrives", ready=False)
    return LotVerdict()
