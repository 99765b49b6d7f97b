"""Dispatches for reading: what left, in which lots, and by which sheets it is brewed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import Q, QuerySet, Sum
from django.db.models.functions import Coalesce

from inventory.models import Lot
from planning.models import Dispatch, SheetRevision
from planning.queries.dispatch_words import yeast_words


@dataclass(frozen=True, kw_only=True)
class DispatchRow:
    """One dispatch in a list; ``kits`` is what left of kits."""

    id: int
    code: str
    order_id: int
    order_code: str
    customer: str
    shipped_on: date
    arrives_on: date
    kits: int
    by: str
    undone_at: datetime | None


@dataclass(frozen=True, kw_only=True)
class PartRow:
    """Something added to each box: its content, its lot, and what a brewer must know of it."""

    content: Mapping[str, Any]
    lot_id: int
    words: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class BatchSheet:
    """The sheet in use of a batch whose kits or hop packs are in a box."""

    batch: str
    id: int


@dataclass(frozen=True, kw_only=True)
class BoxRow:
    """Boxes alike, as they left; ``content`` is what their papers say."""

    content: Mapping[str, Any]
    lot_id: int
    brew_on: date
    best_before_on: date | None
    parts: tuple[PartRow, ...]
    sheets: tuple[BatchSheet, ...]


@dataclass(frozen=True, kw_only=True)
class ExtraRow:
    """An extra that left beside the kits."""

    content: Mapping[str, Any]
    lot_id: int
    best_before_on: date | None


@dataclass(frozen=True, kw_only=True)
class DispatchDetail:
    """A dispatch with its boxes and its extras."""

    row: DispatchRow
    version: int
    order_state: str
    order_words: str
    content: Mapping[str, Any]
    boxes: tuple[BoxRow, ...]
    extras: tuple[ExtraRow, ...]

    @property
    def has_yeast(self) -> bool:
        """Whether yeast was added to a box."""
        return any(part.content["yeast"] for box in self.boxes for part in box.parts)


def dispatch_rows(*, order_id: int | None = None, most: int | None = None) -> list[DispatchRow]:
    """Return dispatches, of one order or of all, the newest first; one statement."""
    rows = _rows().filter(order=order_id) if order_id is not None else _rows()
    return [_row(each) for each in rows[:most]]


def dispatch_detail(dispatch_id: int, units: str = "metric") -> DispatchDetail:
    """Return one dispatch in full, in the units a person reads; three statements.

    Raises
    ------
    Dispatch.DoesNotExist: there is no such dispatch.
    """
    found = _rows().get(pk=dispatch_id)
    content = found.content
    batches = {code for box in content["boxes"] for code in box["batches"]}
    standing = SheetRevision.objects.filter(batch__code__in=batches, voided_at__isnull=True)
    sheets = dict(standing.values_list("batch__code", "pk"))
    named = Lot.objects.filter(code__in=set(_lot_codes(content)))
    lots = dict(named.values_list("code", "pk"))
    return DispatchDetail(
        row=_row(found),
        version=found.version,
        order_state=found.order.state,
        order_words=found.order.get_state_display(),
        content=content,
        boxes=tuple(_box(box, lots, sheets, units) for box in content["boxes"]),
        extras=tuple(
            ExtraRow(
                content=extra,
                lot_id=lots[extra["lot"]],
                best_before_on=_day(extra["best_before_on"]),
            )
            for extra in content["extras"]
        ),
    )


def _box(
    box: Mapping[str, Any], lots: Mapping[str, int], sheets: Mapping[str, int], units: str
) -> BoxRow:
    return BoxRow(
        content=box,
        lot_id=lots[box["lot"]],
        brew_on=date.fromisoformat(box["brew_on"]),
        best_before_on=_day(box["best_before"]["on"]),
        parts=tuple(
            PartRow(
                content=part,
                lot_id=lots[part["lot"]],
                words=tuple(yeast_words(part, box["brew_on"], units)) if part["yeast"] else (),
            )
            for part in box["parts"]
        ),
        sheets=tuple(
            BatchSheet(batch=batch, id=sheets[batch]) for batch in box["batches"] if batch in sheets
        ),
    )


def _day(iso: str | None) -> date | None:
    return date.fromisoformat(iso) if iso else None


def _lot_codes(content: Mapping[str, Any]) -> Iterable[str]:
    for box in content["boxes"]:
        yield box["lot"]
        yield from (part["lot"] for part in box["parts"])
    yield from (extra["lot"] for extra in content["extras"])


def _rows() -> QuerySet[Dispatch]:
    kits = Sum("boxes__quantity", filter=Q(boxes__line__kit__isnull=False))
    return (
        Dispatch.objects.select_related("order", "dispatched_by")
        .annotate(kits=Coalesce(kits, 0))
        .order_by("-shipped_on", "-pk")
    )


def _row(found: Dispatch) -> DispatchRow:
    by = found.dispatched_by
    return DispatchRow(
        id=found.pk,
        code=found.code,
        order_id=found.order_id,
        order_code=found.order.code,
        customer=found.order.customer,
        shipped_on=found.shipped_on,
        arrives_on=found.arrives_on,
        kits=int(vars(found)["kits"]),
        by=by.named,
        undone_at=found.undone_at,
    )
