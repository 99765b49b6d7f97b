"""A sheet is read as it was issued, and a void one cannot be mistaken for it."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from planning.models import SheetRevision
from planning.services.proposing import accept_proposal
from planning.services.reserving import give_run_back
from tests.planning.make import Store, do_jobs, open_proposals
from tests.planning.web.asking import send, text_of

PAPERS = ("weigh-sheet-pdf", "instruction-sheet-pdf")


@pytest.fixture
def sheet(house: Store) -> SheetRevision:
    run = house.reserved(10)
    return SheetRevision.objects.get(batch__run_line__run=run)


def replaced(house: Store, sheet: SheetRevision) -> SheetRevision:
    """Return the sheet that takes the place of one after its lot was tested again."""
    lot = sheet.batch.allocations.get(lot__code="BITTER-A").lot
    house.analysed(lot, 0.07)
    do_jobs()
    (proposal,) = open_proposals()
    return accept_proposal(by=house.by, proposal=proposal)


def test_a_sheet_shows_weights_lots_allergens_and_cautions(
    sheet: SheetRevision, packer: Client
) -> None:
    text = text_of(packer, "sheet-detail", sheet.pk)
    assert "BITTER-A" in text
    assert "barley" in text
    assert "Over-priming bursts bottles" in text
    assert "Do not weigh by this sheet" not in text


def test_a_void_sheet_says_so_and_leads_to_the_one_in_use(
    house: Store, sheet: SheetRevision, packer: Client
) -> None:
    new = replaced(house, sheet)
    text = text_of(packer, "sheet-detail", sheet.pk)
    assert "Do not weigh by this sheet" in text
    assert "new weights accepted" in text
    assert reverse("sheet-detail", args=[new.pk]) in text


@pytest.mark.parametrize("name", PAPERS)
def test_papers_are_printed(sheet: SheetRevision, packer: Client, name: str) -> None:
    answer = packer.get(reverse(name, args=[sheet.pk]))
    assert answer.headers["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")
    assert sheet.batch.code in answer.headers["Content-Disposition"]


def test_instructions_of_a_void_sheet_are_refused_and_its_weigh_sheet_is_not(
    house: Store, sheet: SheetRevision, packer: Client
) -> None:
    replaced(house, sheet)
    refused = packer.get(reverse("instruction-sheet-pdf", args=[sheet.pk]))
    assert refused.status_code == 422
    assert "is void" in refused.content.decode()
    assert packer.get(reverse("weigh-sheet-pdf", args=[sheet.pk])).status_code == 200


def test_the_pick_list_of_a_run_needs_its_lots(
    house: Store, sheet: SheetRevision, packer: Client
) -> None:
    run = sheet.batch.run_line.run
    address = reverse("pick-list-pdf", args=[run.pk])
    assert packer.get(address).content.startswith(b"%PDF")
    give_run_back(by=house.by, run=run, expected=run.version)
    refused = packer.get(address)
    assert refused.status_code == 422
    assert "Reserve it first" in refused.content.decode()


@pytest.mark.parametrize("name", ["sheet-detail", *PAPERS, "pick-list-pdf"])
def test_what_is_not_there_is_not_printed_and_takes_no_form(
    house: Store, packer: Client, name: str
) -> None:
    assert packer.get(reverse(name, args=[404])).status_code == 404
    assert send(packer, name, 404).status_code == 405
