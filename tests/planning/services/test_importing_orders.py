"""Zones and customer orders come with the workbook."""

from __future__ import annotations

from datetime import date

import pytest

from planning.models import CustomerOrder, DispatchZone
from tests.planning.workbooks import Sheets, everything, imported, outcomes, problems, small

pytestmark = pytest.mark.django_db
MONDAY = date(2026, 3, 9)


def with_orders() -> Sheets:
    sheets = small()
    sheets["Zones"] = [
        {"Code": "COAST", "Name": "Coast", "Days on the way": 3, "Leaves on": "Mon Thu"}
    ]
    sheets["Zones"][0] |= {"Warm from": "15 May", "Warm until": "1 October"}
    sheets["Zones"][0] |= {"Ice pack": "BOX", "Ice packs": 2}
    head = {"Order": "CO-1", "Customer": "Pip Dunmore", "Zone": "COAST", "Promised": MONDAY}
    sheets["Customer orders"] = [
        {**head, "Item": "KIT", "Amount": 2, "Unit": "each", "Yeast": "YEAST"},
        {**head, "Item": "MALT", "Amount": 1.5, "Unit": "kg", "Price": 4.5},
    ]
    return sheets


def test_zones_and_orders_are_imported_and_again_change_nothing() -> None:
    result = imported(with_orders())
    assert outcomes(result, "new").items() >= {"Zones": 1, "Customer orders": 2}.items()
    zone = DispatchZone.objects.get()
    assert (zone.ship_weekdays, zone.warm_from, zone.warm_until) == ("03", 515, 1001)
    kits, extra = CustomerOrder.objects.get().lines.all()
    assert kits.yeast is not None
    assert (kits.quantity, kits.yeast.code, extra.quantity, extra.price) == (
        2,
        "YEAST",
        1_500_000,
        45_000,
    )
    before = everything()
    again = imported(with_orders())
    assert outcomes(again, "unchanged") == outcomes(result, "new") | {"About": 1}
    assert everything() == before


def test_an_order_that_the_workbook_changes_is_written_anew() -> None:
    imported(with_orders())
    sheets = with_orders()
    sheets["Customer orders"][0]["Amount"] = 5
    assert outcomes(imported(sheets), "changed") == {"Customer orders": 2}
    assert CustomerOrder.objects.get().lines.get(position=1).quantity == 5


@pytest.mark.parametrize(
    ("sheet", "row", "wrong", "cell"),
    [
        ("Zones", 0, {"Warm from": "soon"}, "E2"),
        ("Zones", 0, {"Ice pack": "NONE"}, "G2"),
        ("Customer orders", 0, {"Zone": "NOWHERE"}, "C2"),
        ("Customer orders", 1, {"Customer": "Somebody else"}, "B3"),
        ("Customer orders", 0, {"Item": "NONE"}, "E2"),
        ("Customer orders", 0, {"Unit": "kg"}, "G2"),
    ],
)
def test_a_problem_is_named_by_its_cell(
    sheet: str, row: int, wrong: dict[str, str], cell: str
) -> None:
    sheets = with_orders()
    sheets[sheet][row] |= wrong
    found = problems(sheets)
    assert (sheet, cell) in {(each["sheet"], each["cell"]) for each in found}, found


def test_what_the_service_refuses_is_named_by_its_sheet() -> None:
    sheets = with_orders()
    for row in sheets["Customer orders"]:
        row["Promised"] = date(2026, 3, 10)
    (problem,) = problems(sheets)
    assert problem["sheet"] == "Customer orders"
    assert "The next day is 12" in problem["remedy"].replace("\xa0", " ")
