from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import IntegrityError, transaction
from django.db.models import F

from inventory.models.guards import drop_guards, install_guards
from inventory.services.ledger import reverse_posting
from planning.models import Allocation, Batch, Run, RunState, SheetRevision
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


@pytest.fixture
def _unguarded():
    drop_guards("default")
    yield
    install_guards("default")


def test_the_database_refuses_to_change_an_issued_sheet():
    made = store()
    made.reserved(3)
    with pytest.raises(IntegrityError, match="written once and kept"), transaction.atomic():
        SheetRevision.objects.update(content={})


@pytest.mark.usefixtures("_unguarded")
def test_a_sheet_changed_where_the_guards_were_taken_down_breaks_its_chain():
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


def test_a_batch_whose_packing_was_reversed_without_it_is_named():
    made, _run, batch = packing()
    pack(made, batch)
    posting = batch.conversion.postings.get()
    reverse_posting(
        by=made.by,
        posting=posting,
        key="behind",
        reason="not through the batch",
        work=posting.conversion,
    )
    assert any("its work in the stock room is cancelled" in said for said in _differences())


def test_a_run_that_holds_no_stock_and_has_a_batch_that_does_is_named():
    made = store()
    run = made.reserved(3)
    Run.objects.filter(pk=run.pk).update(state=RunState.PLANNED)
    (said,) = _differences()
    assert run.code in said


def _differences():
    return batch_check().differences
