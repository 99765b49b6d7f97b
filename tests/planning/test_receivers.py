"""Which news of the stock room asks for new weights."""

from __future__ import annotations

from datetime import timedelta

import pytest

from boxwort.jobs.models import Job
from inventory.models import AnalysisKind, Lot, Reservation
from inventory.services.analyses import record_analysis
from inventory.services.repacking import repack_lot
from inventory.services.works import Made, Taken
from tests.planning.make import TODAY, do_jobs, open_proposals, store

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]


def _read(made, code, kind, value, **facts):
    lot = Lot.objects.select_related("item").get(code=code)
    return record_analysis(by=made.by, lot=lot, kind=kind, sampled_on=TODAY, value=value, **facts)


def test_a_storage_index_of_a_harvest_alpha_proposes_more_hop():
    made = store()
    lot = Lot.objects.select_related("item").get(code="BITTER-A")
    record_analysis(
        by=made.by,
        lot=lot,
        kind=AnalysisKind.ALPHA,
        sampled_on=TODAY - timedelta(days=1),
        value=0.08,
        at_harvest=True,
    )
    made.reserved(10)
    _read(made, "BITTER-A", AnalysisKind.STORAGE_INDEX, 0.40)
    assert do_jobs() == 1
    (proposal,) = open_proposals()
    assert proposal.cause == "new hop storage index analysis of lot BITTER-A"
    assert proposal.ibu_unchanged < proposal.ibu_target - 1


def test_a_late_analysis_of_the_lot_that_hops_were_repacked_from_proposes_new_weights():
    made = store()
    old = Lot.objects.select_related("item").get(code="BITTER-A")
    place = old.balances.get(holds_stock=True).place
    on_hand = old.stock.on_hand
    repack_lot(
        by=made.by,
        taken=Taken(lot_id=old.pk, quantity=on_hand, place=place),
        made=Made(code="BITTER-V", quantity=on_hand, place=place),
        packing="barrier",
        on=TODAY,
        key="repack",
    )
    made.reserved(10)
    held = Reservation.objects.filter(lot__code="BITTER-V", ended_at__isnull=True)
    assert held.exists()
    _read(made, "BITTER-A", AnalysisKind.ALPHA, 0.05)
    assert do_jobs() == 1
    (proposal,) = open_proposals()
    assert proposal.cause == "new alpha acid analysis of lot BITTER-V"


def test_what_is_measured_on_malt_changes_no_hop():
    made = store()
    made.reserved(10)
    malt = Lot.objects.filter(item__kind="grain").first()
    _read(made, malt.code, AnalysisKind.MOISTURE, 0.04)
    assert not Job.objects.exists()
