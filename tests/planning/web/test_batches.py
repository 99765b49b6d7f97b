"""A batch is packed with what it really took, and a mistake is taken back."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Lot
from planning.models import Batch, BatchState
from planning.services.packing import start_packing
from tests.planning.make import TODAY, Store, do_jobs, grams
from tests.planning.web.asking import send, text_of


@pytest.fixture
def batch(house: Store) -> Batch:
    run = house.reserved(10)
    start_packing(by=house.by, run=run, expected=run.version)
    return run.lines.get().batches.get()


def filled(house: Store, batch: Batch, **changed: Any) -> dict[str, Any]:
    """Return the form as a browser would send it, with what was changed in it."""
    form = {
        "kits": batch.kits,
        "packed_on": TODAY.isoformat(),
        "place": house.shelf.pk,
        "version": batch.version,
    }
    for row in batch.allocations.filter(current=True).select_related("lot__item"):
        form[f"used_{row.pk}"] = shown(row)
    return form | changed


def shown(row: Any) -> str:
    if row.lot.item.measure == "count":
        return str(row.quantity)
    kilos = row.quantity >= 1_000_000
    return f"{row.quantity / (1_000_000 if kilos else 1000):.{3 if kilos else 1}f}"


def bittering(batch: Batch) -> Any:
    return batch.allocations.get(lot__code="BITTER-A", current=True)


def test_the_form_starts_with_what_the_sheet_says(
    house: Store, batch: Batch, packer: Client
) -> None:
    text = text_of(packer, "batch-pack", batch.pk)
    row = bittering(batch)
    assert f'name="used_{row.pk}" value="{shown(row)}"' in text


def test_packing_as_the_sheet_says_takes_exactly_what_was_reserved(
    house: Store, batch: Batch, packer: Client
) -> None:
    answer = send(packer, "batch-pack", batch.pk, form=filled(house, batch))
    assert answer.status_code == 303, answer.content.decode()
    batch.refresh_from_db()
    assert (batch.state, batch.packed_kits) == (BatchState.PACKED, 10)
    assert all(row.used == row.quantity for row in batch.allocations.all())
    assert Lot.objects.get(code=batch.code).stock.on_hand == 10


def test_an_amount_in_another_unit_is_what_is_posted(
    house: Store, batch: Batch, packer: Client
) -> None:
    row = bittering(batch)
    form = filled(house, batch, **{f"used_{row.pk}": "0.39 kg"})
    send(packer, "batch-pack", batch.pk, form=form)
    row.refresh_from_db()
    assert row.used == grams(390)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("a handful", "not below zero"),
        ("-3", "not below zero"),
        ("3 L", "does not measure that"),
        ("3 stone", "is not a unit"),
        ("", "required"),
    ],
)
def test_an_amount_that_cannot_be_read_is_shown_again(
    house: Store, batch: Batch, packer: Client, typed: str, said: str
) -> None:
    form = filled(house, batch, **{f"used_{bittering(batch).pk}": typed})
    answer = send(packer, "batch-pack", batch.pk, form=form)
    assert answer.status_code == 422
    assert said in answer.content.decode()


def test_fewer_kits_ask_what_was_really_used(house: Store, batch: Batch, packer: Client) -> None:
    answer = send(packer, "batch-pack", batch.pk, form=filled(house, batch, kits=8))
    assert answer.status_code == 422
    assert "fewer were packed" in answer.content.decode()
    form = filled(house, batch, kits=8, all_used="on")
    assert send(packer, "batch-pack", batch.pk, form=form).status_code == 303


def test_more_kits_than_the_batch_holds_are_refused_beside_what_was_typed(
    house: Store, batch: Batch, packer: Client
) -> None:
    answer = send(packer, "batch-pack", batch.pk, form=filled(house, batch, kits=11))
    assert answer.status_code == 422
    text = answer.content.decode()
    assert "11 kits were packed of a batch of 10" in text
    assert 'value="11"' in text


def test_a_batch_with_an_open_proposal_is_not_packed(
    house: Store, batch: Batch, packer: Client
) -> None:
    house.analysed(bittering(batch).lot, 0.07)
    do_jobs()
    assert "New weights are proposed" in text_of(packer, "batch-pack", batch.pk)
    answer = send(packer, "batch-pack", batch.pk, form=filled(house, batch))
    assert answer.status_code == 422
    assert "Accept or refuse them first" in answer.content.decode()


def test_packing_twice_is_packing_once(house: Store, batch: Batch, packer: Client) -> None:
    for _ in range(2):
        send(packer, "batch-pack", batch.pk, form=filled(house, batch), key="once")
    assert Lot.objects.filter(code=batch.code).count() == 1


def test_a_planner_takes_a_packing_back_with_a_reason(
    house: Store, batch: Batch, planner: Client, packer: Client
) -> None:
    send(packer, "batch-pack", batch.pk, form=filled(house, batch))
    batch.refresh_from_db()
    undo = {"version": batch.version, "reason": "wrong batch"}
    assert send(packer, "batch-undo", batch.pk, form=undo).status_code == 403
    assert "Undo the packing" in text_of(planner, "batch-undo", batch.pk)
    without = send(planner, "batch-undo", batch.pk, form={"version": batch.version})
    assert without.status_code == 422
    assert send(planner, "batch-undo", batch.pk, form=undo).status_code == 303
    batch.refresh_from_db()
    assert batch.state == BatchState.CANCELLED
    assert Lot.objects.get(code=batch.code).stock.on_hand == 0


def test_a_batch_that_is_not_there_is_not_found(house: Store, planner: Client) -> None:
    for name in ("batch-pack", "batch-undo"):
        assert planner.get(reverse(name, args=[404])).status_code == 404
        assert planner.delete(reverse(name, args=[404])).status_code == 405


def test_a_batch_that_is_packed_offers_no_form_to_pack_it_again(
    house: Store, batch: Batch, packer: Client
) -> None:
    send(packer, "batch-pack", batch.pk, form=filled(house, batch))
    again = packer.get(reverse("batch-pack", args=[batch.pk]))
    assert again.status_code == 422
    assert "A batch is packed once" in again.content.decode()
