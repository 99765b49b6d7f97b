"""Bills of materials: of one kit as it was frozen, and of any number of kits."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from boxwort.errors import Refusal
from boxwort.quantities import Measure
from recipes.brewing.bill import BillLine, bill
from recipes.brewing.figures import Figures
from recipes.models import Kit, KitBillLine, KitBillSubstitute
from recipes.queries.figures import kept_figures

MinutesTable = tuple[tuple[int, float], ...]


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
    minutes_table: minutes of boil and IBU per gram, of an addition that moves its time.
    substitute_id, stands_for: of a substitute in its place: the row of the frozen bill, and the
        name of the item it stands for.
    pitch_target, pitch_floor: shares of the pitch that the kit asks of its yeast in place of the
        strain's; None: the strain's.
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
    pitch_target: float | None = None
    pitch_floor: float | None = None
    minutes_table: MinutesTable = ()
    substitute_id: int | None = None
    stands_for: str = ""


@dataclass(frozen=True, kw_only=True)
class SubstituteRow:
    """An approved substitute of one row of a kit's bill, in the measure of that row.

    Attributes
    ----------
    id: its row of the frozen bill; None in the design of a kit that is not offered.
    key: the row of the bill that it may stand for.
    ratio: its weight for a weight of 1.
    exact, packed, reason, overage, reference_alpha, ibu_per_gram, minutes_table: as of
        :class:`BillRow`, of the substitute.
    figures: of the kit brewed with it and nothing else in place of what it stands for.
    """

    id: int | None
    key: str
    item_id: int
    item_code: str
    item_name: str
    item_kind: str
    ratio: float
    exact: float
    packed: int
    reason: str
    overage: float
    reference_alpha: float | None
    ibu_per_gram: float | None
    minutes_table: MinutesTable
    note: str
    approved_by_id: int
    approved_by: str
    figures: Figures


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
    lines = KitBillLine.objects.filter(kit__in=bills).select_related("item", "kit")
    for line in lines.order_by("kit", "position"):
        bills[line.kit_id].append(_row(line))
    return bills


def bill_substitutes(kit_ids: Iterable[int]) -> dict[int, dict[str, tuple[SubstituteRow, ...]]]:
    """Return what may stand for each row of several kits' frozen bills, by key; one statement."""
    found: dict[int, dict[str, tuple[SubstituteRow, ...]]] = {kit_id: {} for kit_id in kit_ids}
    rows = KitBillSubstitute.objects.filter(bill_line__kit__in=found)
    for row in rows.select_related("bill_line", "item", "approved_by").order_by("pk"):
        of_kit, key = found[row.bill_line.kit_id], row.bill_line.key
        of_kit[key] = (*of_kit.get(key, ()), _substitute_row(row))
    return found


def with_substitutes(rows: Iterable[BillRow], chosen: Mapping[str, SubstituteRow]) -> list[BillRow]:
    """Return a bill with substitutes in place of the rows that they were chosen for, by key.

    Each row keeps its place: key, frozen row, use, minutes, part and role. The others keep their
    IBU per gram too, also where another malt makes the boil a little heavier or lighter; the
    figures of :func:`recipes.queries.kit_designs.figures_with` know of that.
    """
    return [_replaced(row, chosen[row.key]) if row.key in chosen else row for row in rows]


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


def _replaced(row: BillRow, substitute: SubstituteRow) -> BillRow:
    return replace(
        row,
        item_id=substitute.item_id,
        item_code=substitute.item_code,
        item_name=substitute.item_name,
        item_kind=substitute.item_kind,
        exact=substitute.exact,
        packed=substitute.packed,
        reason=substitute.reason,
        overage=substitute.overage,
        reference_alpha=substitute.reference_alpha,
        ibu_per_gram=substitute.ibu_per_gram,
        minutes_table=substitute.minutes_table,
        substitute_id=substitute.id,
        stands_for=row.item_name,
    )


def _table(stored: Iterable[tuple[int, float]]) -> MinutesTable:
    return tuple((minutes, value) for minutes, value in stored)


def _substitute_row(row: KitBillSubstitute) -> SubstituteRow:
    return SubstituteRow(
        id=row.pk,
        key=row.bill_line.key,
        item_id=row.item_id,
        item_code=row.item.code,
        item_name=row.item.name,
        item_kind=row.item.kind,
        ratio=row.ratio,
        exact=row.exact,
        packed=row.packed,
        reason=row.reason,
        overage=row.overage,
        reference_alpha=row.reference_alpha,
        ibu_per_gram=row.ibu_per_gram,
        minutes_table=_table(row.minutes_table),
        note=row.note,
        approved_by_id=row.approved_by_id,
        approved_by=row.approved_by.named,
        figures=kept_figures(row.figures),
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
        minutes_table=_table(line.minutes_table),
        pitch_target=line.kit.target_share,
        pitch_floor=line.kit.floor_share,
    )
