"""Which yeast lot goes to which run, so that an older lot serves a kit that needs fewer cells.

Of the planned runs, and of the reserved ones whose yeast is added at dispatch; what a batch has
reserved is no longer open. Lots count with the packs that nobody has reserved.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from boxwort.accounts.queries import site_settings
from inventory.models import Item, ItemKind, Lot, LotStatus
from inventory.queries.yeasts import Journey, YeastLives, journey, yeast_lives
from planning.engine.matching import Assignment, YeastLot, YeastNeed, matched
from planning.models import RunLine, RunState
from planning.queries.pitches import Pitch, pitch_of
from planning.queries.supply import brew_day
from planning.queries.yeast import lines_by_yeast, options_by_kit
from recipes.models import KitBillLine, Part

_Line = tuple[RunLine, KitBillLine]


@dataclass(frozen=True, kw_only=True)
class MatchRow:
    """Kits of one run line from one lot, each with ``packs``; no lot: none is left for them.

    ``pitched`` is the share of the pitch on ``pitch_on``; ``full`` whether that is the target.
    """

    run_code: str
    kit_code: str
    kit_name: str
    pack_on: date
    pitch_on: date
    kits: int
    packs: int
    lot_id: int | None
    lot_code: str
    born_on: date | None
    pitched: float | None
    full: bool


@dataclass(frozen=True, kw_only=True)
class YeastMatch:
    """The lots and runs of one yeast; ``proved``: no other way serves them better."""

    item_code: str
    item_name: str
    rows: tuple[MatchRow, ...]
    at_target: int
    served: int
    wanted: int
    proved: bool

    @property
    def from_lots(self) -> tuple[MatchRow, ...]:
        """The kits that a lot is there for."""
        return tuple(row for row in self.rows if row.lot_id is not None)

    @property
    def without_lot(self) -> tuple[MatchRow, ...]:
        """The kits that no lot is left for."""
        return tuple(row for row in self.rows if row.lot_id is None)

    @property
    def unserved(self) -> int:
        """Kits that no lot is left for."""
        return self.wanted - self.served


@dataclass(frozen=True, kw_only=True)
class _Room:
    """The lots of one yeast and what is known of them."""

    lots: Sequence[Lot]
    lives: YeastLives
    journey: Journey
    today: date

    def pitch(self, lot: Lot, line: RunLine, option: KitBillLine) -> Pitch:
        pack_on = self.pack_day(line)
        pitch_on = brew_day(pack_on, option.kit.shelf_days)
        return pitch_of(option, self.lives.pitched_on(lot.pk, pack_on, pitch_on, self.journey))

    def pack_day(self, line: RunLine) -> date:
        return max(line.run.pack_on, self.today)


def yeast_matches(on: date | None = None) -> tuple[YeastMatch, ...]:
    """Return which lot serves which run, for every yeast that an open run pitches."""
    today = on or timezone.localdate()
    open_lines = {
        item_id: [found for found in lines if _open(*found)]
        for item_id, lines in lines_by_yeast(options_by_kit()).items()
    }
    lots = list(
        Lot.objects.filter(
            item__in=[item_id for item_id, lines in open_lines.items() if lines],
            item__kind=ItemKind.YEAST,
            item__yeast__isnull=False,
            status=LotStatus.RELEASED,
            stock__on_hand__gt=0,
        ).select_related("stock")
    )
    lives = yeast_lives([lot.pk for lot in lots])
    travels = journey(site_settings())
    items = Item.objects.filter(pk__in=open_lines).order_by("code")
    return tuple(
        _match(
            item,
            open_lines[item.pk],
            _Room(
                lots=[lot for lot in lots if lot.item_id == item.pk],
                lives=lives,
                journey=travels,
                today=today,
            ),
        )
        for item in items
        if open_lines[item.pk]
    )


def _open(line: RunLine, option: KitBillLine) -> bool:
    return line.run.state == RunState.PLANNED or option.part == Part.DISPATCH


def _match(item: Item, lines: Sequence[_Line], room: _Room) -> YeastMatch:
    found = matched(
        [_lot(lot, lines, room) for lot in room.lots],
        [_need(line, option, room) for line, option in lines],
    )
    return YeastMatch(
        item_code=item.code,
        item_name=item.name,
        rows=tuple(_rows(found, lines, room)),
        at_target=found.at_target,
        served=found.served,
        wanted=sum(line.kits for line, _ in lines),
        proved=found.proved,
    )


def _lot(lot: Lot, lines: Sequence[_Line], room: _Room) -> YeastLot:
    alive = {str(line.pk): room.pitch(lot, line, option).alive for line, option in lines}
    return YeastLot(
        code=lot.code,
        packs=lot.stock.on_hand - lot.stock.reserved,
        born_on=lot.packaged_on or lot.received_on,
        strength={key: found.share * found.fill for key, found in alive.items()},
        last_day=lot.best_before_on,
    )


def _need(line: RunLine, option: KitBillLine, room: _Room) -> YeastNeed:
    limits = [room.pitch(lot, line, option) for lot in room.lots[:1]]
    return YeastNeed(
        key=str(line.pk),
        kits=line.kits,
        packs=option.packed,
        asked=option.exact,
        pack_on=room.pack_day(line),
        target=limits[0].target if limits else 1.0,
        floor=limits[0].floor if limits else 1.0,
    )


def _rows(found: Assignment, lines: Sequence[_Line], room: _Room) -> Iterator[MatchRow]:
    """Yield the lots of each run line, the oldest first, then its kits without one."""
    for line, option in lines:
        for lot in sorted(
            room.lots, key=lambda lot: (lot.packaged_on or lot.received_on, lot.code)
        ):
            kits = found.kits.get((lot.code, str(line.pk)), 0)
            if kits:
                yield _row(line, option, room, kits, lot)
        unserved = found.unserved.get(str(line.pk), 0)
        if unserved:
            yield _row(line, option, room, unserved, None)


def _row(line: RunLine, option: KitBillLine, room: _Room, kits: int, lot: Lot | None) -> MatchRow:
    given = room.pitch(lot, line, option) if lot else None
    return MatchRow(
        run_code=line.run.code,
        kit_code=option.kit.item.code,
        kit_name=option.kit.item.name,
        pack_on=line.run.pack_on,
        pitch_on=brew_day(room.pack_day(line), option.kit.shelf_days),
        kits=kits,
        packs=option.packed,
        lot_id=lot.pk if lot else None,
        lot_code=lot.code if lot else "",
        born_on=(lot.packaged_on or lot.received_on) if lot else None,
        pitched=given.pitched if given else None,
        full=given is not None and given.full,
    )
