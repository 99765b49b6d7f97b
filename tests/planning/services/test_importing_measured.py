"""Workbooks that say how items keep, how hops are pressed, and what certificates give."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from boxwort.quantities import MG_PER_KG
from inventory.models import Analysis, Item, Lot
from tests.planning.workbooks import Sheets, extra, first, imported, outcomes, problems, small

pytestmark = pytest.mark.django_db

SAMPLED_ON = date(2026, 2, 10)


def _analysed(sheets: Sheets, *rows: dict[str, Any]) -> Sheets:
    for row in rows:
        sheets["Analyses"].append({"Lot": "MALT-1", "Sampled": SAMPLED_ON, **row})
    return sheets


def test_an_item_says_how_it_keeps_and_in_what_it_comes() -> None:
    sheets = small()
    sheets["Items"][0] |= {
        "Family": "Base malt",
        "Container amount": 1.5,
        "Container unit": "kg",
        "Crushed life (days)": 14,
        "Opened life (days)": 60,
        "Work loss (%)": 1.5,
    }
    imported(sheets)
    item = Item.objects.get(code="MALT")
    assert (item.crushed_days, item.opened_days, item.work_loss) == (14, 60, 0.015)
    assert (item.container_quantity, item.malt.family) == (1.5 * MG_PER_KG, "base_malt")
    assert set(outcomes(imported(sheets), "unchanged")) == set(sheets)


def test_a_lot_of_hops_in_another_form_than_its_item() -> None:
    sheets = small()
    sheets["Lots"][1]["Form"] = "Whole cones"
    imported(sheets)
    assert Lot.objects.get(code="HOP-1").form == "cone"
    sheets["Lots"][1]["Form"] = "Plugs"
    assert "stands with cone, not plug" in problems(sheets)[0]["what"]


def test_a_certificate_is_taken_as_it_is_written() -> None:
    sheets = _analysed(
        small(),
        {"Measured": "Extract", "Value": 79, "Unit": "%", "Basis": "Dry"},
        {"Measured": "Moisture", "Value": 4, "Unit": "%"},  # its row may come after
        {"Measured": "Colour", "Value": 7.9, "Unit": "EBC"},
        {"Measured": "Enzyme power", "Value": 334, "Unit": "°WK"},
    )
    imported(sheets)
    kept = {row.kind: row for row in Analysis.objects.filter(lot__code="MALT-1")}
    assert kept["extract"].value * 0.96 == pytest.approx(292.4956, abs=1e-3)
    assert kept["colour"].value == pytest.approx(3.5214, abs=1e-4)
    assert kept["power"].value == 100
    given = {kind: (row.given_value, row.given_unit) for kind, row in kept.items()}
    assert given == {
        "extract": (79.0, "%"),
        "moisture": (None, ""),
        "colour": (7.9, "EBC"),
        "power": (334.0, "°WK"),
    }
    assert outcomes(imported(sheets), "unchanged")["Analyses"] == 5


def test_an_alpha_acid_of_the_harvest_is_marked_in_its_sheet() -> None:
    sheets = small()
    sheets["Analyses"][0]["At harvest"] = "yes"
    imported(sheets)
    assert Analysis.objects.get().at_harvest


BAD: dict[str, tuple[Any, str]] = {
    "a family nobody malts": (first("Items", Family="Cheese"), "Family"),
    "a box of base malt": (
        extra("Items", Code="X", Kind="Packaging", Family="Base malt"),
        "Family",
    ),
    "a tin of malt in litres": (
        first("Items", **{"Container amount": 1.5, "Container unit": "L"}),
        "Container unit",
    ),
    "crushed and gone": (first("Items", **{"Crushed life (days)": 0}), "Crushed life (days)"),
    "malt in plugs": (first("Lots", Form="Plugs"), "Code"),
    "alpha in EBC": (first("Analyses", Unit="EBC"), "Unit"),
    "more extract than malt": (
        extra("Analyses", Lot="MALT-1", Measured="Extract", Value=120),
        "Value",
    ),
    "a harvest perhaps": (first("Analyses", **{"At harvest": "perhaps"}), "At harvest"),
}


@pytest.mark.parametrize("what", BAD)
def test_what_cannot_be_is_named_at_its_cell(what: str) -> None:
    change, column = BAD[what]
    sheets = small()
    change(sheets)
    assert column in [problem["column"] for problem in problems(sheets)]
