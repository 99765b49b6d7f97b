"""Bills of materials: of one kit as it was frozen, and of any number of kits."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from boxwort.errors import Refusal
from boxwort.quantities import Measure
from recipes.brewing.bill import BillLine, bill
from recipes.models import Kit, KitBillLine


@dataclass(frozen=True, kw_only=True)
class BillRow:
    """One row of a kit's bill.

    Attributes
    ----------
    bill_line_id, line_id: rows of the frozen bill and of the method; None where there is none.
    key: names the row within the kit for good ("hop-1").
    exact, packed: for one kit, in units of stock; ``reason`` says why they differ.
    overage: share lost in packing, on top of what goes in the box.
    role, reference_alpha, ibu_per_gram: of hops only; IBU of one gram per unit of alpha, at this
        size, 0.0 for what is not boiled.
    """

    bill_line_id: int | None
    line_id: int | None
    key: str
    position: int
    item_id: int
    item_code: str
    item_name: str
    item_kind: str
    measure: Measure
    use: str
    minutes: int
    part: str
    exact: float
    packed: int
    reason: str
    overage: float
    role: str
    reference_alpha: float | None
    ibu_per_gram: float | None
    is_yeast_option: bool


@dataclass(frozen=True, kw_only=True)
class BillTotal:
    """One row of the bill for n kits, in units of stock.

    ``total`` is ``per_kit * kits + overage``; overage is rounded up to a whole unit of stock.
    """

    key: str
    position: int
    item_id: int
    item_code: str
    item_name: str
    item_kind: str
    measure: Measure
    use: str
    minutes: int
    part: str
    per_kit: int
    overage: int
    overage_share: float
    total: int
    reason: str
    is_yeast_option: bool


def bill_of(kit_id: int) -> list[BillRow]:
    """Return the frozen bill of a kit, in order; empty while the kit is not offered."""
    return bills_of([kit_id])[kit_id]


def bills_of(kit_ids: Iterable[int]) -> dict[int, list[BillRow]]:
    """Return the frozen bills of several kits in one statement."""
    bills: dict[int, list[BillRow]] = {kit_id: [] for kit_id in kit_ids}
    lines = KitBillLine.objects.filter(kit__in=bills).select_related("item")
    for line in lines.order_by("kit", "position"):
        bills[line.kit_id].append(_row(line))
    return bills


def bill_for(kit_id: int, kits: int, yeast_item_id: int | None = None) -> list[BillTotal]:
    """Return the bill of a number of kits with one yeast: the chosen one, else the usual.

    Raises
    ------
    Refusal: ``kit-not-offered``, or ``not-a-yeast-option`` of this kit.
    """
    rows = bill_of(kit_id)
    if not rows:
        raise Refusal(
            "kit-not-offered",
            f"{Kit.objects.select_related('item').get(pk=kit_id)} has no frozen bill.",
            "Offer the kit first.",
        )
    return totals(with_one_yeast(rows, yeast_item_id), kits)


def with_one_yeast(rows: Sequence[BillRow], yeast_item_id: int | None = None) -> list[BillRow]:
    """Return the rows without the yeasts that were not chosen (the first when none was)."""
    options = [row for row in rows if row.is_yeast_option]
    chosen = [row for row in options if yeast_item_id in (None, row.item_id)][:1]
    if yeast_item_id is not None and not chosen:
        known = ", ".join(row.item_code for row in options)
        raise Refusal(
            "not-a-yeast-option",
            "That yeast is not an option of this kit.",
            f"Choose one of {known}.",
        )
    return [row for row in rows if not row.is_yeast_option or row in chosen]


def totals(rows: Sequence[BillRow], kits: int) -> list[BillTotal]:
    """Return the rows multiplied to a number of kits, with overage."""
    counted = bill([_counted(row) for row in rows], kits=kits)
    return [
        BillTotal(
            key=row.key,
            position=row.position,
            item_id=row.item_id,
            item_code=row.item_code,
            item_name=row.item_name,
            item_kind=row.item_kind,
            measure=row.measure,
            use=row.use,
            minutes=row.minutes,
            part=row.part,
            per_kit=row.packed,
            overage=total.overage,
            overage_share=row.overage,
            total=total.total,
            reason="; ".join(filter(None, (row.reason, total.reason))),
            is_yeast_option=row.is_yeast_option,
        )
        for row, total in zip(rows, counted, strict=True)
    ]


def _counted(row: BillRow) -> BillLine:
    """Return a row for multiplying: what is packed is settled, so the step is one unit."""
    return BillLine(
        key=row.key,
        code=row.item_code,
        measure=row.measure,
        quantity=float(row.packed),
        resolution=1,
        overage=row.overage,
        part=row.part,
    )


def _row(line: KitBillLine) -> BillRow:
    return BillRow(
        bill_line_id=line.pk,
        line_id=line.line_id,
        key=line.key,
        position=line.position,
        item_id=line.item_id,
        item_code=line.item.code,
        item_name=line.item.name,
        item_kind=line.item.kind,
        measure=Measure(line.item.measure),
        use=line.use,
        minutes=line.minutes,
        part=line.part,
        exact=line.exact,
        packed=line.packed,
        reason=line.reason,
        overage=line.overage,
        role=line.role,
        reference_alpha=line.reference_alpha,
        ibu_per_gram=line.ibu_per_gram,
        is_yeast_option=line.is_yeast_option,
    )
