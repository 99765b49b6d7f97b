"""The day starts with what needs a person, in the order of their work."""

from __future__ import annotations

from collections.abc import Callable

from django.test import Client
from django.utils import timezone

from boxwort.jobs.models import Job
from boxwort.roles import Role
from inventory.models import LotStatus
from tests.make import item
from tests.planning.buying import ON, market
from tests.planning.make import Store, do_jobs
from tests.planning.web.asking import text_of


def troubled(house: Store) -> None:
    """Make something for every part of the page."""
    run = house.reserved(10)
    lot = run.lines.get().batches.get().allocations.get(lot__code="BITTER-A").lot
    house.analysed(lot, 0.07)
    do_jobs()
    house.lot(house.goods.aroma, 1000, code="AROMA-WAITS", status=LotStatus.QUARANTINE)
    Job.objects.create(
        name="planning.rebalance",
        key="kit:9",
        by=house.by,
        state="failed",
        error="The worker went away.",
        ended_at=timezone.now(),
    )


def test_a_quiet_day_says_so(db: None, planner: Client) -> None:
    item()
    text = text_of(planner, "today")
    assert "Nothing waits for a decision" in text
    assert "No run is to be packed by then" in text


def test_the_first_day_begins_with_the_import(
    db: None, signed_in: Callable[[Role], Client]
) -> None:
    assert "Import the first workbook" in text_of(signed_in(Role.OWNER), "today")
    assert "The owner imports the first workbook" in text_of(signed_in(Role.PACKER), "today")


def test_the_day_shows_all_that_waits(house: Store, planner: Client) -> None:
    troubled(house)
    text = text_of(planner, "today")
    assert "R260309-1" in text
    assert "1 proposal to decide" in text
    assert "AROMA-WAITS" in text
    assert "The worker went away." in text


def test_a_failed_job_whose_work_was_done_later_is_not_shown(house: Store, planner: Client) -> None:
    troubled(house)
    Job.objects.create(name="planning.rebalance", key="kit:9", by=house.by, state="done")
    assert "The worker went away." not in text_of(planner, "today")


def test_a_planner_decides_first_and_a_packer_packs_first(
    house: Store, signed_in: Callable[[Role], Client]
) -> None:
    troubled(house)

    def order(role: Role) -> list[int]:
        text = text_of(signed_in(role), "today")
        return [text.index("Proposals to decide"), text.index("Runs to pack by")]

    assert order(Role.PLANNER) == sorted(order(Role.PLANNER))
    assert order(Role.PACKER) != sorted(order(Role.PACKER))


def test_a_run_that_lacks_something_names_it(house: Store, planner: Client) -> None:
    house.plan(1000)
    assert "to buy:" in text_of(planner, "today")


def test_a_batch_that_no_new_weights_can_help_stands_in_the_way_of_its_run(
    house: Store, planner: Client
) -> None:
    run = house.reserved(40)
    batch = run.lines.get().batches.get()
    house.analysed(batch.allocations.get(lot__code="BITTER-A").lot, 0.05)
    do_jobs()
    said = "no single usable lot of Bitter holds all 40 kits"
    assert said in text_of(planner, "today")
    assert said in text_of(planner, "run-detail", run.pk)


def test_orders_that_should_come_or_go_today_are_named(house: Store, packer: Client) -> None:
    shop = market()
    late = shop.sent(shop.line(due_on=ON))
    draft = shop.draft(shop.line(order_by=ON))
    text = text_of(packer, "today")
    assert "Purchase orders due: 2" in text
    assert late.code in text
    assert draft.code in text


def test_an_order_that_comes_later_is_not_named(house: Store, packer: Client) -> None:
    shop = market()
    shop.sent()
    assert "Purchase orders due" not in text_of(packer, "today")
