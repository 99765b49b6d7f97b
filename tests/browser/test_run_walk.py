"""A planner plans, reserves, decides a proposal and packs, in a browser."""

from __future__ import annotations

from typing import Any

import pytest

from planning.models import Batch, BatchState, Forecast, Run, RunState
from tests.browser.visitor import Visitor
from tests.planning.make import PACK_ON, TODAY, Store, do_jobs

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
READ = ("run-list", "proposal-list", "purchase-list", "demand-list", "yeast-list", "today")
ORDERS = ("customer-order-list", "customer-order-new", "zone-list", "zone-new")
PASTE = """([row, column, text]) => {
  const box = document.querySelector(`[data-row="${row}"][data-column="${column}"]`);
  const clipboardData = new DataTransfer();
  clipboardData.setData("text", text);
  const how = { clipboardData, bubbles: true, cancelable: true };
  box.dispatchEvent(new ClipboardEvent("paste", how));
}"""


def planned(house: Store, visitor: Visitor) -> Run:
    visitor.sees("Nothing waits for a decision")
    visitor.go("run-new")
    visitor.page.get_by_label("Pack on").fill(PACK_ON.isoformat())
    visitor.page.get_by_label("Kits of Kit-Pale").fill("10")
    visitor.page.locator("#check-stock").click()
    visitor.page.get_by_text("Everything is in stock").wait_for()
    visitor.press("#save-run")
    visitor.page.get_by_text("Bitterness after balancing").wait_for()
    visitor.looked_at()
    return Run.objects.get()


def reserved(house: Store, visitor: Visitor, run: Run) -> Batch:
    visitor.press("#reserve-run")
    visitor.sees("its sheets are issued")
    batch: Batch = run.lines.get().batches.get()
    visitor.press(f"#sheet-of-{batch.pk}")
    visitor.sees("Over-priming bursts bottles")
    return batch


def reweighed(house: Store, visitor: Visitor, run: Run, batch: Batch) -> None:
    house.analysed(batch.allocations.get(lot__code="BITTER-A").lot, 0.07)
    do_jobs()
    visitor.go("run-detail", run.pk)
    visitor.press(f"#proposal-of-{batch.pk}")
    visitor.page.get_by_text("Bitterness after balancing").click()
    visitor.looked_at()
    visitor.press("#accept-proposal")
    visitor.sees("Sheet 2")
    visitor.go("sheet-detail", batch.sheets.get(number=1).pk)
    visitor.sees("Do not weigh by this sheet")


def packed(visitor: Visitor, run: Run, batch: Batch) -> None:
    visitor.go("run-detail", run.pk)
    visitor.press("#start-packing")
    visitor.press(f"#pack-{batch.pk}")
    visitor.press("#record-packing")
    visitor.sees("10 packed of 10")
    visitor.press("#close-run")
    visitor.press("#confirm")
    visitor.sees("is closed")


def test_a_planner_plans_reserves_decides_and_packs(house: Store, visitor: Visitor) -> None:
    run = planned(house, visitor)
    batch = reserved(house, visitor, run)
    reweighed(house, visitor, run, batch)
    packed(visitor, run, batch)
    run.refresh_from_db()
    batch.refresh_from_db()
    assert (run.state, batch.state) == (RunState.CLOSED, BatchState.PACKED)


def test_what_is_refused_is_said_and_what_was_typed_stays(house: Store, visitor: Visitor) -> None:
    run = house.plan(1000)
    visitor.go("run-detail", run.pk)
    visitor.page.locator("#reserve-run").click()
    visitor.page.get_by_text("Possible now").wait_for()
    visitor.looked_at()
    run.refresh_from_db()
    assert run.state == RunState.PLANNED


def test_the_pages_that_are_read_hold_no_barrier(house: Store, visitor: Visitor) -> None:
    house.lot(house.goods.ale_yeast, 40, code="ALE-1", received_on=TODAY, packaged_on=TODAY)
    house.plan(200)
    run = house.reserved(10)
    for name in (*READ, *ORDERS):
        visitor.go(name)
    for name in ("run-give-back", "run-cancel", "run-detail"):
        visitor.go(name, run.pk)


def test_the_demand_grid_is_typed_into_like_a_sheet(house: Store, visitor: Visitor) -> None:
    visitor.go("demand-list")
    visitor.press("main form button")  # adds the only kit there is
    page = visitor.page

    def box(week: int) -> Any:
        return page.locator(f'[data-row="0"][data-column="{week}"]')

    box(0).fill("12")
    box(0).press("ArrowRight")
    page.keyboard.type("8")
    assert box(1).input_value() == "8"
    page.evaluate(PASTE, [0, 2, "7\t1,010\r\n"])
    assert (box(2).input_value(), box(3).input_value()) == ("7", "1010")
    assert page.locator("[data-total]").inner_text() == "1,037"
    visitor.press("#save-demand")
    visitor.sees("4 cells of the forecast changed")
    kits = Forecast.objects.order_by("week_on").values_list("kits", flat=True)
    assert list(kits) == [12, 8, 7, 1010]
