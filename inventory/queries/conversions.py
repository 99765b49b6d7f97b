"""Work on lots as people read it: what it took, made and lost, and what lies in a kit.

The figures are those of its posting: what went into production and to waste, and what came out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction
from math import floor

from django.db.models import Prefetch, Q, QuerySet

from inventory.models import (
    WORKS,
    Conversion,
    ConversionKind,
    ConversionState,
    Item,
    Lot,
    Move,
    PlaceKind,
    Posting,
    PostingKind,
)


@dataclass(frozen=True, kw_only=True)
class WorkLot:
    """A quantity of a lot in a piece of work, in whole units of ``measure``, and where it lay.

    ``from_code`` is the lot that an output goes on from; ``left`` marks what was left of an opened
    container.
    """

    lot_id: int
    code: str
    item_name: str
    measure: str
    quantity: int
    place_name: str
    from_id: int | None
    from_code: str
    left: bool


@dataclass(frozen=True, kw_only=True)
class WorkBalance:
    """The mass balance of one item in the work: ``used`` is ``made`` and ``left`` and ``lost``.

    ``expected`` is what the item's share of loss makes of what was worked on.
    """

    item_name: str
    measure: str
    used: int
    made: int
    left: int
    lost: int
    expected: int

    @property
    def difference(self) -> int:
        """What was lost above what is expected; below zero where less was lost."""
        return self.lost - self.expected

    @property
    def under(self) -> int:
        """How much less was lost than is expected."""
        return max(0, -self.difference)


@dataclass(frozen=True, kw_only=True)
class WorkRow:
    """One piece of work with its posting and its lots.

    ``opened`` is the lot that was opened and keeps what is left, if that stayed in its lot.
    """

    id: int
    code: str
    kind: str
    kind_name: str
    state: str
    state_name: str
    posting_id: int
    occurred_on: date
    recorded_at: datetime
    by: str
    reason: str
    taken_back: str
    inputs: tuple[WorkLot, ...]
    outputs: tuple[WorkLot, ...]
    balances: tuple[WorkBalance, ...]
    opened_id: int | None
    opened_code: str

    @property
    def losses(self) -> list[WorkBalance]:
        """The mass balances of the items of which something was lost."""
        return [row for row in self.balances if row.lost]


@dataclass(frozen=True, kw_only=True)
class ContentRow:
    """What so many kits of a lot hold of one of the lots they were packed from.

    ``place_id`` is where it lay before it was packed.
    """

    lot_id: int
    code: str
    item_id: int
    item_code: str
    item_name: str
    item_kind: str
    measure: str
    quantity: int
    expected: int
    place_id: int


def expected_loss(item: Item, worked: int) -> int:
    """Return what work on so much of an item usually loses, to the nearest whole unit."""
    return floor(Fraction(str(item.work_loss)) * worked + Fraction(1, 2))


def work_rows(*, kind: str = "", state: str = "", text: str = "") -> list[WorkRow]:
    """Return the work on lots that fits, the newest first; three statements.

    ``text`` is a part of the work's code, or of the code of a lot that it took or made.
    """
    works = Conversion.objects.filter(kind__in=WORKS)
    if kind:
        works = works.filter(kind=kind)
    if state:
        works = works.filter(state=state)
    if text:
        named = Conversion.objects.filter(postings__moves__lot__code__icontains=text).values("pk")
        works = works.filter(Q(code__icontains=text) | Q(pk__in=named))
    return _rows(works)


def work_row(work_id: int) -> WorkRow | None:
    """Return one piece of work on lots, or None where there is none with this number."""
    return next(iter(_rows(Conversion.objects.filter(kind__in=WORKS, pk=work_id))), None)


def works_on(lot_id: int) -> list[WorkRow]:
    """Return the work that took of a lot or made it, the newest first; three statements."""
    named = Conversion.objects.filter(postings__moves__lot=lot_id).values("pk")
    return _rows(Conversion.objects.filter(kind__in=WORKS, pk__in=named))


def contents_of(lot: Lot, kits: int) -> list[ContentRow]:
    """Return what so many kits of a packed lot hold, by the lots that were packed; two statements.

    What was used is shared over the kits that were made, less what was given back before, so that
    breaking down all of them, at once or bit by bit, and whichever of it is taken back between,
    gives back just what was used. Empty for a lot that was not packed here.
    """
    moves = Move.objects.filter(
        posting__conversion=lot.made_by_id,
        posting__conversion__kind=ConversionKind.PACK,
        posting__kind=PostingKind.CONVERSION,
        posting__reversed_by__isnull=True,
    )
    used: dict[int, list[Move]] = defaultdict(list)
    made = 0
    for move in moves.select_related("lot__item", "to_place", "from_place").order_by("pk"):
        if move.to_place.kind == PlaceKind.PRODUCTION:
            used[move.lot_id].append(move)
        elif move.lot_id == lot.pk:
            made += move.quantity
    if not made or lot.made_by_id is None:
        return []
    before, given = _broken_down(lot)
    rows = [
        _content(taken, Fraction(before + kits, made), given[lot_id])
        for lot_id, taken in sorted(used.items())
    ]
    return [row for row in rows if row.quantity]


def _broken_down(lot: Lot) -> tuple[int, Mapping[int, int]]:
    """Return how many kits of a lot were broken down, and what they gave back of each lot."""
    kits, given = 0, defaultdict[int, int](int)
    broken = Posting.objects.filter(
        moves__lot=lot,
        conversion__kind=ConversionKind.BREAK_DOWN,
        kind=PostingKind.CONVERSION,
        reversed_by__isnull=True,
    )
    moves = Move.objects.filter(posting__in=broken)
    for lot_id, from_lot, quantity, start, end in moves.values_list(
        "lot", "lot__from_lot", "quantity", "from_place__kind", "to_place__kind"
    ):
        if lot_id == lot.pk and end == PlaceKind.PRODUCTION:
            kits += quantity
        elif start == PlaceKind.PRODUCTION:
            given[from_lot or 0] += quantity
    return kits, given


def _content(taken: Sequence[Move], share: Fraction, given: int) -> ContentRow:
    """Return what is owed of a lot once this share of the kits is broken down, less ``given``."""
    used = sum(move.quantity for move in taken)
    quantity = max(0, floor(used * share) - given)
    lot = taken[0].lot
    return ContentRow(
        lot_id=lot.pk,
        code=lot.code,
        item_id=lot.item_id,
        item_code=lot.item.code,
        item_name=lot.item.name,
        item_kind=lot.item.kind,
        measure=lot.item.measure,
        quantity=quantity,
        expected=expected_loss(lot.item, quantity),
        place_id=taken[0].from_place_id,
    )


def _rows(works: QuerySet[Conversion]) -> list[WorkRow]:
    moves = Move.objects.select_related("lot__item", "lot__from_lot", "from_place", "to_place")
    postings = Posting.objects.filter(kind=PostingKind.CONVERSION).select_related(
        "by", "reversed_by"
    )
    found = (
        works.filter(postings__kind=PostingKind.CONVERSION)
        .select_related("opened_lot")
        .prefetch_related(
            Prefetch("postings", postings, to_attr="posted"),
            Prefetch("posted__moves", moves.order_by("pk"), to_attr="moved"),
        )
        .order_by("-pk")
    )
    return [_row(work) for work in found]


def _row(work: Conversion) -> WorkRow:
    posting = vars(work)["posted"][0]
    sides = _sides(work, posting.moved)
    reversal = getattr(posting, "reversed_by", None)
    opened = work.opened_lot if work.opened_lot and work.opened_lot.made_by_id != work.pk else None
    return WorkRow(
        id=work.pk,
        code=work.code,
        kind=work.kind,
        kind_name=work.get_kind_display(),
        state=work.state,
        state_name="Taken back" if reversal else ConversionState(work.state).label,
        posting_id=posting.pk,
        occurred_on=posting.occurred_on,
        recorded_at=posting.recorded_at,
        by=posting.by.get_username(),
        reason=posting.reason,
        taken_back=reversal.reason if reversal else "",
        inputs=_lots(sides["in"], work),
        outputs=_lots(sides["out"], work, less=sides["lost"]),
        balances=tuple(_balances(sides, work)),
        opened_id=opened.pk if opened else None,
        opened_code=opened.code if opened else "",
    )


def _sides(work: Conversion, moves: Iterable[Move]) -> Mapping[str, list[Move]]:
    """Return the moves of a posting: into the work, out of it, and to waste.

    What the work lost of a lot that went into it went in, too.
    """
    sides: dict[str, list[Move]] = {"in": [], "out": [], "lost": []}
    for move in moves:
        made_here = move.lot.made_by_id == work.pk
        if move.to_place.kind == PlaceKind.WASTE:
            sides["lost"].append(move)
        if move.to_place.kind == PlaceKind.STORAGE:
            sides["out"].append(move)
        elif not made_here:
            sides["in"].append(move)
    return sides


def _lots(
    moves: Iterable[Move], work: Conversion, less: Iterable[Move] = ()
) -> tuple[WorkLot, ...]:
    """Return the lots on one side of the work, what lay in one place together.

    ``less`` is what was lost of an output as it was made.
    """
    sums: dict[tuple[int, str], int] = defaultdict(int)
    lots: dict[int, Lot] = {}
    for move in moves:
        stored = move.to_place if move.to_place.kind == PlaceKind.STORAGE else move.from_place
        sums[move.lot_id, stored.name] += move.quantity
        lots[move.lot_id] = move.lot
    for move in less:
        if (move.lot_id, move.from_place.name) in sums:
            sums[move.lot_id, move.from_place.name] -= move.quantity
    return tuple(
        WorkLot(
            lot_id=lot_id,
            code=lots[lot_id].code,
            item_name=lots[lot_id].item.name,
            measure=lots[lot_id].item.measure,
            quantity=quantity,
            place_name=place,
            from_id=lots[lot_id].from_lot_id,
            from_code=_code(lots[lot_id].from_lot),
            left=lot_id == work.opened_lot_id,
        )
        for (lot_id, place), quantity in sums.items()
    )


def _code(lot: Lot | None) -> str:
    return lot.code if lot else ""


def _balances(sides: Mapping[str, list[Move]], work: Conversion) -> Iterable[WorkBalance]:
    """Yield the mass balance of each item; a kit that is broken down counts by what came of it."""
    breaks = work.kind == ConversionKind.BREAK_DOWN
    items = {move.lot.item_id: move.lot.item for move in sides["out"]}
    for item_id, item in items.items():
        used, made, lost, lost_of_made, left = (
            sum(move.quantity for move in moves if move.lot.item_id == item_id)
            for moves in (
                sides["out" if breaks else "in"],
                sides["out"],
                sides["lost"],
                [move for move in sides["lost"] if move.lot.made_by_id == work.pk],
                [move for move in sides["out"] if move.lot_id == work.opened_lot_id],
            )
        )
        yield WorkBalance(
            item_name=item.name,
            measure=item.measure,
            used=used,
            made=made - left - lost_of_made,
            left=left,
            lost=lost,
            expected=expected_loss(item, used - left),
        )
