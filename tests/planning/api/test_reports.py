"""Yeast, purchase list and demand over the API."""

from __future__ import annotations

from datetime import timedelta
from io import BytesIO

import pytest
from openpyxl import load_workbook

from inventory.services.catalogue import write_offer, write_supplier
from planning.services.forecast import ForecastCell, set_forecast
from tests.calling import Program, pointers, problem
from tests.planning.make import TODAY, Store

REPORTS = ["api-yeast", "api-purchase-list", "api-purchase-list-xlsx"]


@pytest.fixture
def short_of_boxes(house: Store) -> Store:
    """Return a store whose run needs more boxes than there are, and who sells them."""
    supplier = write_supplier(by=house.by, code="BOXES", name="Box maker")
    write_offer(
        by=house.by,
        supplier=supplier,
        item=house.goods.box,
        pack_quantity=50,
        minimum_packs=1,
        lead_days=3,
        breaks=[(1, 125_500)],
    )
    house.plan(kits=620)
    return house


def test_the_purchase_list_says_what_to_buy_and_why(viewer: Program, short_of_boxes: Store) -> None:
    read = viewer.read("api-purchase-list")
    assert read["on"] == TODAY.isoformat()
    [supplier] = read["suppliers"]
    [line] = supplier["lines"]
    assert (line["item"], line["packs"]) == ("BOX", 3)
    assert line["net"] == {"quantity": 120, "unit": "each", "text": "120 each"}
    assert line["pack_price"] == {"amount": "12.55", "currency": "USD"}
    assert supplier["total"] == read["total"] == {"amount": "37.65", "currency": "USD"}
    box = next(row for row in read["requirements"] if row["item"] == "BOX")
    [need] = box["needs"]
    assert sum(peg["quantity"]["quantity"] for peg in need["pegs"]) == 620
    assert {peg["quantity"]["unit"] for peg in need["pegs"]} == {"each"}
    assert {row["item"] for row in read["unoffered"]} >= {"EXTRACT"}


def test_the_purchase_list_is_asked_for_what_must_be_ordered_by_a_day(
    viewer: Program, short_of_boxes: Store
) -> None:
    read = viewer.read("api-purchase-list", until="2020-01-01")
    assert (read["until"], read["later"], read["suppliers"]) == ("2020-01-01", 1, [])


def test_the_purchase_list_is_a_workbook_too(viewer: Program, short_of_boxes: Store) -> None:
    answer = viewer.get("api-purchase-list-xlsx")
    assert answer.headers["Content-Type"].startswith("application/vnd.openxmlformats")
    assert f"purchase-list-{TODAY}.xlsx" in answer.headers["Content-Disposition"]
    book = load_workbook(BytesIO(answer.content))
    assert book.sheetnames[:2] == ["Summary", "Box maker"]


def test_yeast_is_judged_on_a_day(viewer: Program, house: Store) -> None:
    house.lot(house.goods.ale_yeast, 40, code="Y-1", packaged_on=TODAY - timedelta(days=30))
    [lot] = viewer.read("api-yeast")["lots"]
    assert (lot["lot"], lot["on_hand"]["quantity"]) == ("Y-1", 40)
    assert 0 < lot["living"] < 1
    [later] = viewer.read("api-yeast", on=TODAY + timedelta(days=30))["lots"]
    assert later["living"] < lot["living"]
    assert lot["kits"][0]["kit"] == "KIT-PALE"


def test_demand_is_read_by_the_week(viewer: Program, house: Store) -> None:
    set_forecast(by=house.by, cells=[ForecastCell(kit=house.kit, week_on=TODAY, kits=12)])
    read = viewer.read("api-demand", weeks=2)
    assert read["weeks"] == ["2026-03-02", "2026-03-09"]
    [row] = read["rows"]
    assert (row["kit"], row["kits"]) == ("KIT-PALE", 12)
    asked = {"ordered": 0, "dispatched": 0, "forecast": 12, "left": 12}
    assert row["cells"][0] == {**asked, "kits": 12}
    assert pointers(viewer.get("api-demand", weeks=0)) == {"#/weeks"}
    assert pointers(viewer.get("api-demand", on="9999-12-31")) == {"#/on"}


@pytest.mark.parametrize("name", REPORTS)
def test_a_report_asks_its_questions(viewer: Program, house: Store, name: str) -> None:
    assert viewer.get(name).status_code == 200
    for day in ("tomorrow", "0001-01-01", "9999-12-31"):
        assert pointers(viewer.get(name, on=day)) == {"#/on"}
    problem(viewer.post(name), 405, "method-not-allowed")
