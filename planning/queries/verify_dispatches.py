"""Whether dispatches, the orders they were for and the ledger tell the same story."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from django.db.models import Prefetch

from boxwort.quantities import Measure, read_naturally
from inventory.models import Conversion, ConversionKind, ConversionState, Lot, Move, PlaceKind
from planning.models import (
    CustomerOrder,
    CustomerOrderState,
    Dispatch,
    DispatchBox,
    OrderLine,
)


@dataclass(frozen=True, kw_only=True)
class DispatchCheck:
    """What was looked at, and a plain sentence for everything that differs."""

    dispatches: int
    differences: tuple[str, ...]


def dispatch_check() -> DispatchCheck:
    """Compare every dispatch with its moves, and every order with its dispatches.

    What left = the boxes and the parts added to them; what an order says has left of a line = the
    boxes of its dispatches that stand. Seven statements.
    """
    boxes = DispatchBox.objects.prefetch_related("parts").order_by("pk")
    dispatches = list(
        Dispatch.objects.select_related("conversion", "order")
        .prefetch_related(Prefetch("boxes", boxes))
        .order_by("code")
    )
    moved, lots = _moved(), Lot.objects.select_related("item").in_bulk()
    differences = [
        sentence
        for dispatch in dispatches
        for sentence in (
            *_state_differences(dispatch),
            *_move_differences(dispatch, moved[dispatch.conversion_id], lots),
        )
    ]
    differences += [*_order_differences(dispatches), *_unowned()]
    return DispatchCheck(dispatches=len(dispatches), differences=tuple(differences))


def _moved() -> defaultdict[int, Counter[int]]:
    """Return what left of each lot, by work; what was taken back left all the same."""
    found: defaultdict[int, Counter[int]] = defaultdict(Counter)
    rows = Move.objects.filter(
        posting__conversion__kind=ConversionKind.DISPATCH,
        posting__reverses__isnull=True,
        to_place__kind=PlaceKind.CUSTOMER,
    )
    for work, lot, quantity in rows.values_list("posting__conversion", "lot", "quantity"):
        found[work][lot] += quantity
    return found


def _state_differences(dispatch: Dispatch) -> Iterator[str]:
    stands = dispatch.undone_at is None
    wanted = ConversionState.DONE if stands else ConversionState.CANCELLED
    if dispatch.conversion.state != wanted:
        yield (
            f"Dispatch {dispatch.code} {'stands' if stands else 'is undone'}, and its work in the "
            f"stock room is {dispatch.conversion.get_state_display().lower()}."
        )


def _move_differences(
    dispatch: Dispatch, moved: Counter[int], lots: dict[int, Lot]
) -> Iterator[str]:
    said: Counter[int] = Counter()
    for box in dispatch.boxes.all():
        said[box.lot_id] += box.quantity
        for part in box.parts.all():
            said[part.lot_id] += part.quantity
    for lot_id in sorted(said.keys() | moved.keys()):
        if said[lot_id] != moved[lot_id]:
            lot = lots[lot_id]
            measure = Measure(lot.item.measure)
            yield (
                f"Dispatch {dispatch.code} says that {read_naturally(said[lot_id], measure)} of "
                f"lot {lot.code} left; the ledger moved "
                f"{read_naturally(moved[lot_id], measure)}."
            )


def _order_differences(dispatches: list[Dispatch]) -> Iterator[str]:
    left: Counter[int] = Counter()
    for dispatch in dispatches:
        if dispatch.undone_at is None:
            for box in dispatch.boxes.all():
                left[box.line_id] += box.quantity
    lines = OrderLine.objects.order_by("position")
    for order in CustomerOrder.objects.prefetch_related(Prefetch("lines", lines)):
        rows = list(order.lines.all())
        for line in rows:
            if line.dispatched != left[line.pk]:
                yield (
                    f"Line {line.position} of order {order.code} says that {line.dispatched:,} "
                    f"left, and its dispatches add up to {left[line.pk]:,}."
                )
        yield from _order_state(order, rows)


def _order_state(order: CustomerOrder, lines: list[OrderLine]) -> Iterator[str]:
    sent = bool(lines) and all(line.quantity == line.dispatched for line in lines)
    if order.state != CustomerOrderState.CANCELLED and sent != (
        order.state == CustomerOrderState.DISPATCHED
    ):
        yield f"Order {order.code} is {order.state}, which does not fit what has left of it."


def _unowned() -> Iterator[str]:
    works = Conversion.objects.filter(kind=ConversionKind.DISPATCH, dispatch__isnull=True)
    for code in works.order_by("code").values_list("code", flat=True):
        yield f"Work {code} is a dispatch that no order knows of."
