"""What was called off of a contract, and what is left of it."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from inventory.models import Contract, ItemKind
from inventory.services.catalogue import write_offer, write_supplier
from inventory.services.contracts import write_contract
from planning.models import OrderState, PurchaseLine, PurchaseOrder
from planning.queries.contracts import contract_rows
from tests import make

pytestmark = pytest.mark.django_db
KG = 1_000_000
SPRING, AUTUMN = date(2026, 3, 1), date(2026, 9, 1)


def contract(code: str = "C-26", kind: ItemKind = ItemKind.HOP) -> Contract:
    """Return a contract for 40 kg."""
    return write_contract(
        by=make.user(),
        code=code,
        offer=write_offer(
            by=make.user(),
            supplier=write_supplier(by=make.user(), code="HOPYARD", name="The hop yard"),
            item=make.item("CASCADE", kind),
            pack_quantity=5 * KG,
        ),
        quantity=40 * KG,
        from_on=SPRING,
        until_on=AUTUMN,
    )


def called_off(of: Contract, kilograms: int, state: OrderState, **facts: Any) -> None:
    order = PurchaseOrder.objects.create(
        code=make.key().upper(), supplier=of.offer.supplier, ordered_on=SPRING, state=state
    )
    PurchaseLine.objects.create(
        order=order,
        item=of.offer.item,
        contract=of,
        quantity=kilograms * KG,
        due_on=SPRING,
        **facts,
    )


def test_what_is_on_orders_is_called_off_and_the_rest_is_left() -> None:
    made = contract()
    called_off(made, 10, OrderState.SENT)
    called_off(made, 5, OrderState.DRAFT)
    called_off(made, 20, OrderState.CANCELLED)
    called_off(made, 10, OrderState.CLOSED, received=8 * KG, ended=True)
    (row,) = contract_rows()
    assert (row.called_off, row.left) == (23 * KG, 17 * KG)
    assert row.open_on(SPRING)
    assert not row.open_on(date(2026, 2, 28))
    called_off(made, 30, OrderState.SENT)
    (row,) = contract_rows()
    assert row.left == 0
    assert not row.open_on(SPRING)


def test_contracts_are_read_in_one_statement(django_assert_num_queries: Any) -> None:
    made = [contract(), contract("C-27"), contract("C-28")]
    for each in made:
        called_off(each, 1, OrderState.SENT)
    with django_assert_num_queries(1):
        rows = contract_rows(supplier_id=made[0].offer.supplier_id)
    assert [row.code for row in rows] == ["C-26", "C-27", "C-28"]
