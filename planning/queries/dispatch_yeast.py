"""What the lots here would pitch of yeast that goes into the boxes only when they leave.

A run takes no such yeast, so that its cut and its sheets say nothing of a lot that is too old.
These notes do. A lot is judged as if the box left on the day the run is packed, the earliest.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from boxwort.accounts.queries import site_settings
from boxwort.figures import share
from inventory.queries.lots import UsableLot, usable_lots
from inventory.queries.yeasts import Journey, YeastLives, journey, yeast_lives
from planning.engine.pitching import enough, pitched_share
from planning.models import RunLine
from planning.queries.chosen_substitutes import chosen_substitutes, in_the_box
from planning.queries.supply import brew_day, weighing_day
from recipes.models import Part
from recipes.queries.bills import BillRow, bills_of


@dataclass(frozen=True, kw_only=True)
class _Lot:
    """What a lot's packs give on brew day, against the target and the floor, as shares."""

    packs: int
    pitched: float
    target: float
    floor: float

    @property
    def full(self) -> bool:
        return enough(self.pitched, self.target)


def dispatch_notes(lines: Sequence[RunLine], pack_on: date) -> tuple[str, ...]:
    """Return what to order for each run line of one pack day; nothing where all is well.

    A fixed number of statements. Each line must have been read with its kit.
    """
    bills, chosen = bills_of([line.kit_id for line in lines]), chosen_substitutes(lines)
    boxes = [
        in_the_box(bills[line.kit_id], line.yeast_id, chosen.get(line.pk, {})) for line in lines
    ]
    yeasts = [next((row for row in box if _at_dispatch(row)), None) for box in boxes]
    day = weighing_day(pack_on)
    usable = usable_lots({row.item_id for row in yeasts if row}, day)
    known = _Known(
        usable=usable,
        lives=yeast_lives([lot.lot_id for lots in usable.values() for lot in lots]),
        journey=journey(site_settings()),
        pack_on=day,
    )
    return tuple(
        known.note(line, row) if row else "" for line, row in zip(lines, yeasts, strict=True)
    )


def _at_dispatch(row: BillRow) -> bool:
    return row.is_yeast_option and row.part == Part.DISPATCH


@dataclass(frozen=True, kw_only=True)
class _Known:
    """The usable lots of the yeasts, what is known of them, and the day the boxes may leave."""

    usable: Mapping[int, Sequence[UsableLot]]
    lives: YeastLives
    journey: Journey
    pack_on: date

    def note(self, line: RunLine, row: BillRow) -> str:
        brew_on = brew_day(self.pack_on, line.kit.shelf_days)
        lots = [self._judged(row, lot, brew_on) for lot in self.usable.get(row.item_id, ())]
        wrong = _wrong(row, lots, row.packed * line.kits)
        return f"Yeast goes in at dispatch: {wrong}: order fresh packs." if wrong else ""

    def _judged(self, row: BillRow, lot: UsableLot, brew_on: date) -> _Lot:
        alive = self.lives.pitched_on(lot.lot_id, self.pack_on, brew_on, self.journey)
        return _Lot(
            packs=lot.available,
            pitched=pitched_share(
                packs=row.packed, living=alive.share, fill=alive.fill, asked=row.exact
            ),
            target=alive.target_share if row.pitch_target is None else row.pitch_target,
            floor=alive.floor_share if row.pitch_floor is None else row.pitch_floor,
        )


def _wrong(row: BillRow, lots: Sequence[_Lot], packs: int) -> str:
    """Return what is wrong with the lots of a line; nothing where they give it its full pitch."""
    if not lots:
        return f"no lot of {row.item_name} here can be used"
    best = max(lots, key=lambda lot: lot.pitched)
    given = f"the lots of {row.item_name} here give {share(best.pitched)} of the pitch on brew day"
    if not enough(best.pitched, best.floor):
        return f"{given}, below the floor of {share(best.floor, 0)}"
    if not best.full:
        return f"{given}, below the target of {share(best.target, 0)}"
    good = sum(lot.packs for lot in lots if lot.full)
    if good >= packs:
        return ""
    return (
        f"{good:,} of the {packs:,} packs of {row.item_name} that these kits take are here and "
        f"reach the target of {share(best.target, 0)} on brew day"
    )
