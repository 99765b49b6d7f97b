"""The sheets of opening stock: lots as they stand when the books are opened, and their analyses."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from datetime import date
from typing import Any

from boxwort.errors import Refusal
from boxwort.quantities import Measure, read_naturally
from boxwort.sheets.checking import check_named
from boxwort.sheets.forms import Row
from boxwort.sheets.reading import Reading
from boxwort.sheets.saving import Outcome, Saving
from inventory.models import Analysis, AnalysisKind, Lot, LotStatus, PostingKind
from inventory.services.analyses import record_analysis
from inventory.services.certificates import said
from inventory.services.importing_catalogue import Catalogue, check_measure, measures
from inventory.services.importing_forms import (
    ANALYSES,
    ITEMS,
    LOTS,
    PLACES,
    SUPPLIERS,
)
from inventory.services.lots import hold_lot, receive_lot

_SAME = 1e-9  # relative: a value that went through a spreadsheet and back


def check_lots(reading: Reading, books: Catalogue, on: date) -> None:
    """Check what lots and analyses name, their units, and that nothing came after today."""
    for name, form, known in (
        ("item", ITEMS, books.items),
        ("place", PLACES, books.places),
        ("supplier", SUPPLIERS, books.suppliers),
    ):
        check_named(reading, LOTS.name, name, in_sheet=form.name, code="code", in_books=known)
    check_measure(reading, LOTS.name, "item", "amount", measures(reading, books))
    for row in reading.sound(LOTS.name):
        _check_status_reason(reading, row)
        _check_not_later(reading, row, "received_on", on)
    standing = set(Lot.objects.values_list("code", flat=True))
    check_named(reading, ANALYSES.name, "lot", in_sheet=LOTS.name, code="code", in_books=standing)
    for row in reading.sound(ANALYSES.name):
        _check_unit(reading, row)
        _check_not_later(reading, row, "sampled_on", on)


def save_lots(saving: Saving, books: Catalogue) -> None:
    """Write the opening stock and its analyses; what already stands is compared and left alone."""
    lots = _standing_lots(saving)
    for row in saving.reading.sound(LOTS.name):
        if row["code"] in lots:
            _compare(saving, row, lots[row["code"]])
        elif _all_known(row, books):
            with saving.writing(row, new=True):
                lots[row["code"]] = _received(saving, row, books)
    _save_analyses(saving, lots)


def _check_status_reason(reading: Reading, row: Row) -> None:
    if row["status_reason"] and row["status"] != LotStatus.ON_HOLD:
        row.sound = False
        what = "A reason is given, and the lot is not on hold."
        reading.add(row, "status_reason", what, "Empty it, or put the lot on hold.")


def _check_not_later(reading: Reading, row: Row, name: str, on: date) -> None:
    if row[name] > on:
        row.sound = False
        what = f"This day is after {on}, which the workbook is dated as of."
        reading.add(row, name, what, "Correct the date, or leave what has not happened out.")


def _check_unit(reading: Reading, row: Row) -> None:
    """Put what the paper says to the unit of the books, or note why that cannot be."""
    try:
        row.values["said"] = said(AnalysisKind(row["kind"]), row["value"], row["unit"])
    except Refusal as refusal:
        row.sound = False
        name = "unit" if refusal.code == "unit-does-not-fit" else "value"
        reading.add(row, name, refusal.what, refusal.remedy)


def _standing_lots(saving: Saving) -> dict[str, Lot]:
    named = saving.reading.named(LOTS.name, "code") | saving.reading.named(ANALYSES.name, "lot")
    rows = Lot.objects.filter(code__in=named).select_related("item", "supplier")
    return {lot.code: lot for lot in rows}


def _all_known(row: Row, books: Catalogue) -> bool:
    supplier = row["supplier"] is None or row["supplier"] in books.suppliers
    return supplier and row["item"] in books.items and row["place"] in books.places


def _received(saving: Saving, row: Row, books: Catalogue) -> Lot:
    held = row["status"] == LotStatus.ON_HOLD
    lot = receive_lot(
        by=saving.by,
        code=row["code"],
        item=books.items[row["item"]],
        received_on=row["received_on"],
        quantity=row["amount"].quantity,
        place=books.places[row["place"]],
        key=f"opening {row['code']}",
        supplier=books.suppliers.get(row["supplier"]),
        supplier_lot=row["supplier_lot"],
        packaged_on=row["packaged_on"],
        best_before_on=row["best_before_on"],
        packing=row["packing"],
        form=row["form"],
        cost_amount=row["cost_amount"],
        kind=PostingKind.OPENING,
        status=LotStatus.QUARANTINE if held else LotStatus(row["status"]),
    )
    if held:
        lot = hold_lot(by=saving.by, lot=lot, expected=lot.version, reason=row["status_reason"])
    return lot


def _compare(saving: Saving, row: Row, lot: Lot) -> None:
    """Name where a row differs from the lot as it came in.

    Its status, place and what is left of it are the house's own affair since then.
    """
    differences = list(_differences(row, lot))
    for name, here, there in differences:
        what = f"Lot {lot.code} already stands with {there}, not {here}."
        remedy = "Correct it by a count on the lot's page, or give a new lot a code of its own."
        saving.refuse(row, name, what, remedy)
    if not differences:
        saving.note([row], Outcome.UNCHANGED)


def _differences(row: Row, lot: Lot) -> Iterator[tuple[str, str, str]]:
    said = {
        "item": (row["item"], lot.item.code),
        "supplier": (row["supplier"], lot.supplier and lot.supplier.code),
        **{
            name: (row[name], getattr(lot, name))
            for name in (
                "received_on",
                "packaged_on",
                "best_before_on",
                "packing",
                "form",
                "supplier_lot",
                "cost_amount",
            )
        },
    }
    for name, (here, there) in said.items():
        if here != there:
            yield name, str(here or "nothing"), str(there or "nothing")
    here, there = row["amount"].quantity, lot.cost_quantity
    if here != there:
        measure = Measure(lot.item.measure)
        yield "amount", read_naturally(here, measure), read_naturally(there, measure)


def _save_analyses(saving: Saving, lots: dict[str, Lot]) -> None:
    standing = {
        _key(analysis.lot_id, analysis): analysis
        for analysis in Analysis.objects.filter(lot__code__in=lots)
    }
    rows = saving.reading.sound(ANALYSES.name)
    # what is measured on dry matter needs the moisture, wherever its row stands
    for row in sorted(rows, key=lambda row: row["kind"] != AnalysisKind.MOISTURE):
        lot = lots.get(row["lot"])
        if lot is None:
            continue
        value = row["said"].value
        earlier = standing.get(
            (lot.pk, row["kind"], row["sampled_on"], row["method"], row["basis"])
        )
        if earlier is None:
            with saving.writing(row, new=True):
                record_analysis(by=saving.by, lot=lot, **asdict(row["said"]), **_facts(row))
        elif abs(earlier.value - value) <= _SAME * max(abs(value), 1):
            saving.note([row], Outcome.UNCHANGED)
        else:
            what = f"An analysis of that day and method already stands with {earlier.value:g}."
            remedy = "Record the new value on the lot's page, where it supersedes the first."
            saving.refuse(row, "value", what, remedy)


def _key(lot_id: int, analysis: Analysis) -> tuple[Any, ...]:
    return lot_id, analysis.kind, analysis.sampled_on, analysis.method, analysis.basis


def _facts(row: Row) -> dict[str, Any]:
    return {
        "kind": AnalysisKind(row["kind"]),
        "sampled_on": row["sampled_on"],
        "method": row["method"],
        "basis": row["basis"],
        "spread": row["spread"],
        "at_harvest": row["at_harvest"],
    }
