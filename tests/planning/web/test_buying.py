"""What to buy, what is wanted and what still lives is read by everybody."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook

from boxwort.figures import NO_BREAK
from boxwort.roles import Role
from inventory.services.catalogue import write_offer, write_supplier
from tests.planning.make import TODAY, Store, grams
from tests.planning.web.asking import send, text_of

PAGES = ("purchase-list", "purchase-list-xlsx", "demand-list", "yeast-list", "today")


@pytest.fixture
def buying(house: Store) -> Store:
    """Return a store that lacks bittering hops for a run, with a slow supplier of them."""
    supplier = write_supplier(by=house.by, code="SLOW", name="Slow Hop Yard")
    write_offer(
        by=house.by,
        supplier=supplier,
        item=house.goods.bittering,
        pack_quantity=grams(5000),
        lead_days=30,
        breaks=[(1, 900_000)],
    )
    house.plan(200)
    return house


@pytest.mark.parametrize("name", PAGES)
def test_everybody_may_read_and_nobody_may_send(
    house: Store, signed_in: Callable[[Role], Client], name: str
) -> None:
    assert signed_in(Role.VIEWER).get(reverse(name)).status_code == 200
    assert send(signed_in(Role.OWNER), name).status_code == 405


def test_nothing_to_buy_says_so(db: None, planner: Client) -> None:
    assert "Nothing to buy" in text_of(planner, "purchase-list")


def test_the_list_says_from_whom_by_when_for_which_run_and_what_is_late(
    buying: Store, planner: Client
) -> None:
    text = text_of(planner, "purchase-list")
    assert "Slow Hop Yard" in text
    assert "should have been ordered before today" in text
    assert "Past due" in text
    assert "R260309-1" in text


def test_an_item_that_nobody_offers_is_told_with_its_remedy(buying: Store, planner: Client) -> None:
    assert "add an offer" in text_of(planner, "purchase-list")


def test_the_download_is_a_workbook_with_a_sheet_for_the_supplier(
    buying: Store, planner: Client
) -> None:
    answer = planner.get(reverse("purchase-list-xlsx"))
    assert "attachment" in answer.headers["Content-Disposition"]
    assert "Slow Hop Yard" in load_workbook(BytesIO(answer.content)).sheetnames


def test_yeast_says_what_lives_and_which_runs_it_serves(house: Store, planner: Client) -> None:
    assert "No yeast is in stock" in text_of(planner, "yeast-list")
    packaged_on = TODAY - timedelta(days=10)
    house.lot(house.goods.ale_yeast, 40, code="ALE-1", packaged_on=packaged_on, received_on=TODAY)
    run = house.plan(10)
    text = text_of(planner, "yeast-list")
    assert "ALE-1" in text
    assert run.code in text
    assert f"93{NO_BREAK}% viable today" in text
