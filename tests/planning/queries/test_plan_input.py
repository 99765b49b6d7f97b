"""What a plan reads: what is left of contracts, how hops keep, what the house's days are."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from boxwort.accounts.models import DayOff
from inventory.models import Contract
from inventory.services.catalogue import write_offer, write_supplier
from planning.models import OrderState, PurchaseLine, PurchaseOrder
from planning.queries.plan_input import plan_input
from tests.planning.make import TODAY, grams, planner, store

pytestmark = pytest.mark.django_db


def contract_of(made, quantity):
    supplier = write_supplier(by=planner(), code="HOPS", name="Hops")
    offer = write_offer(
        by=planner(), supplier=supplier, item=made.goods.bittering, pack_quantity=grams(500)
    )
    return Contract.objects.create(
        code="C-1", offer=offer, quantity=quantity, from_on=TODAY, until_on=TODAY
    )


def called_off(contract, quantity, state=OrderState.SENT, **facts):
    order = PurchaseOrder.objects.create(
        code=f"PO-{state}", supplier=contract.offer.supplier, ordered_on=TODAY, state=state
    )
    PurchaseLine.objects.create(
        order=order, item=contract.offer.item, offer=contract.offer, contract=contract,
        quantity=quantity, due_on=TODAY, **facts,
    )  # fmt: skip


def test_what_was_ordered_against_a_contract_is_called_off():
    contract = contract_of(store(), grams(3000))
    called_off(contract, grams(500))
    called_off(contract, grams(500), state=OrderState.DRAFT)
    called_off(contract, grams(1000), state=OrderState.CLOSED, ended=True, received=grams(200))
    (found,) = plan_input(TODAY).contracts
    assert found.left == grams(3000 - 500 - 200)


def test_a_contract_that_is_called_off_or_over_is_left_out():
    contract = contract_of(store(), grams(500))
    called_off(contract, grams(500))
    assert plan_input(TODAY).contracts == ()
    PurchaseLine.objects.all().delete()
    assert plan_input(TODAY + timedelta(days=1)).contracts == ()


def test_bitterness_is_needed_with_what_the_pouch_will_lose_and_aroma_by_weight():
    made = store()
    made.plan(10)
    given = plan_input(TODAY)
    codes = [given.items[item].code for item in given.rows.item]
    alphas = dict(zip(codes, given.rows.alpha, strict=True))
    assert alphas["BITTER"] > made.kit.bill.get(role="absorb").reference_alpha
    assert np.isnan(alphas["EXTRACT"])


def test_a_hop_lot_is_read_with_its_alpha_today_and_its_rate_of_loss():
    store()
    (lot,) = [lot for lot in plan_input(TODAY).lots if lot.code == "BITTER-A"]
    assert 0.07 < lot.alpha < 0.08
    assert 0 < lot.decay < 0.01


def test_days_off_and_weekdays_make_the_calendar():
    DayOff.objects.create(on=TODAY, name="Stocktaking")
    calendar = plan_input(TODAY).calendar
    assert not calendar.works(TODAY)
    assert calendar.works(TODAY + timedelta(days=1))
