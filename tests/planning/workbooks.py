"""Workbooks for tests of the import: one small producer, and whatever a test changes of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from copy import deepcopy
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from django.apps import apps
from openpyxl import Workbook

from boxwort.sheets.writing import workbook_bytes
from planning.services.importing import ImportResult, import_workbook, workbook_problems
from tests.make import key, user
from tests.remembering import remembered

FERNHOLLOW = Path(__file__).resolve().parents[2] / "fixtures" / "fernhollow.xlsx"
AS_OF = date(2026, 3, 2)
SAVED_AT = datetime(2026, 3, 2, 9, tzinfo=UTC)

Sheets = dict[str, list[dict[str, Any]]]

_LINE = {"Recipe": "PALE", "Method": "All-grain"}
_BOIL = {"Use": "Boil", "Minutes": 60}
_SMALL: Sheets = {
    "About": [{"Producer": "Hollow Kits", "Dates as of": AS_OF, "Currency": "eur"}],
    "Items": [
        {"Code": "MALT", "Name": "Pale malt", "Kind": "Grain", "Measured by": "mass"},
        {"Code": "HOP", "Name": "House hop", "Kind": "Hop", "Measured by": "mass"},
        {"Code": "YEAST", "Name": "House yeast", "Kind": "Yeast", "Measured by": "count"},
        {"Code": "BOX", "Name": "Kit box", "Kind": "Packaging", "Measured by": "count"},
        {"Code": "KIT", "Name": "Pale ale kit", "Kind": "Kit", "Measured by": "count"},
    ],
    "Malts": [{"Item": "MALT", "Extract (ppg)": 38, "Enzyme power (°Lintner)": 90}],
    "Hops": [{"Item": "HOP", "Planning alpha (%)": 9, "Lost in six months (%)": 30}],
    "Yeasts": [{"Item": "YEAST", "Form": "Dry", "Attenuation (%)": 78, "Pack (g)": 11.5}],
    "Suppliers": [{"Code": "FARM", "Name": "The farm"}],
    "Offers": [{"Supplier": "FARM", "Item": "MALT", "Pack": 25, "Pack unit": "kg"}],
    "Price breaks": [{"Supplier": "FARM", "Item": "MALT", "Pack": 25, "Pack unit": "kg"}],
    "Places": [{"Code": "STORE", "Name": "Store", "Temperature (°C)": 12}],
    "Lots": [
        {"Code": "MALT-1", "Item": "MALT", "Amount": 500, "Unit": "kg", "Place": "STORE"},
        {"Code": "HOP-1", "Item": "HOP", "Amount": 2, "Unit": "kg", "Place": "STORE"},
    ],
    "Analyses": [{"Lot": "HOP-1", "Measured": "Alpha acid", "Value": 9.5, "Unit": "%"}],
    "Recipes": [{"Code": "PALE", "Name": "Pale ale", "State": "Offered"}],
    "Methods": [{"Recipe": "PALE", "Method": "All-grain", "Finished volume (L)": 20}],
    "Lines": [
        {**_LINE, "Item": "MALT", "Use": "Mash", "Amount": 4.5, "Unit": "kg"},
        {**_LINE, **_BOIL, "Item": "HOP", "Amount": 30, "Unit": "g", "Role": "Absorb"},
    ],
    "Yeast options": [{"Recipe": "PALE", "Item": "YEAST"}],
    "Kits": [{"Item": "KIT", "Recipe": "PALE", "Method": "All-grain", "Volume (L)": 20}],
    "Kit parts": [{"Kit": "KIT", "Item": "BOX", "Amount": 1, "Unit": "each"}],
    "Demand": [{"Kit": "KIT", "Week": date(2026, 3, 11), "Kits": 8}],
    "On order": [
        {"Order": "PO-1", "Supplier": "FARM", "Item": "MALT", "Amount": 50, "Unit": "kg"},
    ],
}
_SMALL["Yeasts"][0]["Dose (g/hL)"] = 55
_SMALL["Offers"][0]["Price per pack"] = 40
_SMALL["Price breaks"][0] |= {"From packs": 10, "Price per pack": 38}
_SMALL["Methods"][0] |= {"Before the boil (L)": 26, "After the boil (L)": 22}
_SMALL["Lines"][1]["Reference alpha (%)"] = 9
_SMALL["Analyses"][0]["Sampled"] = date(2026, 1, 20)
_SMALL["On order"][0] |= {"Ordered": date(2026, 2, 27), "Due": date(2026, 3, 9)}
for _lot in _SMALL["Lots"]:
    _lot |= {"Received": date(2026, 2, 2), "Status": "Released", "Cost": 100}


def small() -> Sheets:
    """Return the sheets of a producer with one of everything."""
    return deepcopy(_SMALL)


def xlsx(sheets: Mapping[str, Sequence[Mapping[str, Any]]]) -> bytes:
    """Return the sheets as a workbook; a sheet has the columns that its rows name."""
    book = Workbook()
    book.remove(book.worksheets[0])
    for name, rows in sheets.items():
        titles = list(dict.fromkeys(title for row in rows for title in row))
        sheet = book.create_sheet(name)
        sheet.append(titles)
        for row in rows:
            sheet.append([row.get(title) for title in titles])
    return workbook_bytes(book, SAVED_AT)


def imported(sheets: Sheets | bytes, **how: Any) -> ImportResult:
    """Import sheets, or a whole workbook, as the owner and under a key of its own."""
    return _imported(sheets if isinstance(sheets, bytes) else xlsx(sheets), **how)


@remembered
def _imported(content: bytes, **how: Any) -> ImportResult:
    wanted = {"by": user(), "name": "stock.xlsx", "key": key(), **how}
    return import_workbook(content=content, **wanted)


def problems(sheets: Sheets) -> list[dict[str, Any]]:
    """Return what the sheets would be refused for."""
    return workbook_problems(by=user(), content=xlsx(sheets), name="stock.xlsx")


def everything() -> dict[str, int]:
    """Count the rows of every table but those that say what was asked and done."""
    told = {"history", "request", "job"}
    return {
        model._meta.label: model._default_manager.count()
        for model in apps.get_models()
        if model._meta.model_name not in told
    }


def outcomes(result: ImportResult, outcome: str) -> dict[str, int]:
    """Return the sheets of which any rows had an outcome, and how many."""
    counts = {sheet: count.as_json()[outcome] for sheet, count in result.counts.items()}
    return {sheet: number for sheet, number in counts.items() if number}


def extra(sheet: str, **row: Any) -> Callable[[Sheets], None]:
    """Return a change: the first row of a sheet once more, with other values."""

    def change(sheets: Sheets) -> None:
        sheets[sheet].append({**sheets[sheet][0], **row})

    return change


def first(sheet: str, **row: Any) -> Callable[[Sheets], None]:
    """Return a change: other values in the first row of a sheet."""

    def change(sheets: Sheets) -> None:
        sheets[sheet][0].update(row)

    return change
