from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db.models import F

from planning.models import Allocation, Batch, SheetRevision
from planning.queries.verify import batch_check
from planning.services.packing import undo_packing
from planning.services.proposing import accept_proposal
from planning.services.reserving import cancel_run
from tests.planning.make import do_jobs, open_proposals, pack, packing, store

pytestmark = pytest.mark.django_db


def test_reserving_rebalancing_packing_cancelling_and_undoing_leave_nothing_to_say():
    made, _run, batch = packing()
    made.analysed(made.goods.bittering.lots.get(), 0.07)
    do_jobs()
    (proposal,) = open_proposals()
    accept_proposal(by=made.by, proposal=proposal)
    batch.refresh_from_db()
    row = batch.allocations.get(current=True, bill_line__role="absorb")
    pack(made, batch, used={row.pk: row.quantity + 7})
    waiting = made.reserved(3)
    assert batch_check().differences == ()
    cancel_run(by=made.by, run=waiting, expected=waiting.version)
    undo_packing(by=made.by, batch=batch, expected=batch.version, reason="no", key="undo")
    check = batch_check()
    assert (check.batches, check.sheets, check.differences) == (2, 3, ())


def test_a_sheet_changed_behind_the_house_breaks_its_chain():
    made = store()
    made.reserved(3)
    sheet = SheetRevision.objects.get()
    content = {**sheet.content, "kits": 30}
    SheetRevision.objects.filter(pk=sheet.pk).update(content=content)
    assert any("was changed after it was issued" in said for said in batch_check().differences)


def test_a_batch_that_says_another_amount_than_the_ledger_is_named():
    made, _run, batch = packing()
    pack(made, batch)
    Allocation.objects.filter(bill_line__role="absorb").update(used=F("used") + 1_000)
    (said,) = batch_check().differences
    assert batch.code in said
    assert "1.0 g" not in said


def test_an_allocation_moved_off_its_sheet_is_named_by_the_command():
    made = store()
    made.reserved(3)
    Allocation.objects.filter(bill_line__role="absorb").update(per_kit=F("per_kit") + 500)
    printed = StringIO()
    with pytest.raises(CommandError, match="differences found"):
        call_command("verify_stock", stdout=printed)
    assert "does not say what is allocated" in printed.getvalue()
    assert Batch.objects.get().code in printed.getvalue()
