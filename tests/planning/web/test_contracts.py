"""The contracts with a supplier, as a part of the supplier's page and over the API."""

from __future__ import annotations

from boxwort.roles import Role
from planning.models import OrderState
from tests.calling import Program
from tests.conftest import Enter
from tests.planning.queries.test_contracts import KG, called_off, contract
from tests.visits import read


def test_the_contracts_of_a_supplier_are_a_part_of_its_page(enter: Enter) -> None:
    made = contract()
    called_off(made, 10, OrderState.SENT)
    planner, supplier = enter(Role.PLANNER), made.offer.supplier_id
    text = read(planner, "supplier-contracts", supplier)
    for words in ("C-26", "Cascade", "40.000 kg", "10.000 kg", "30.000 kg", "as of the offer"):
        assert words in text
    assert f"/contracts/{made.pk}/change/" in text
    assert "/change/" not in read(enter(Role.PACKER), "supplier-contracts", supplier)
    assert f"/suppliers/{supplier}/contracts/" in read(planner, "supplier-detail", supplier)


def test_a_program_reads_what_is_left_of_each_contract(db: None) -> None:
    called_off(contract(), 10, OrderState.SENT)
    (row,) = Program(Role.VIEWER).read("api-contract-list")["results"]
    assert (row["code"], row["supplier"], row["item"]) == ("C-26", "HOPYARD", "CASCADE")
    assert row["left"]["quantity"] == 30 * KG
    assert row["pack_price"] is None
