"""The database itself refuses to change what was written for good."""

from __future__ import annotations

import pytest
from django.core.management import call_command
from django.db import IntegrityError, connection, transaction

from boxwort.accounts.models import History
from inventory.models import Analysis, AnalysisKind, ItemKind, Move, Place, PlaceKind, Posting
from inventory.models.fixed import fixed_place
from inventory.models.guards import drop_guards, guards_missing, install_guards
from inventory.models.places import FIXED_KINDS
from inventory.services.analyses import record_analysis
from tests import make

pytestmark = pytest.mark.django_db


@pytest.fixture
def _written(db):
    lot = make.lot(item=make.item("FUG", ItemKind.HOP))
    record_analysis(
        by=make.user(), lot=lot, kind=AnalysisKind.ALPHA, sampled_on=make.RECEIVED_ON, value=0.05
    )


GUARDED = [
    (Move, {"quantity": 1}),
    (Posting, {"reason": "another"}),
    (Analysis, {"value": 0.5}),
    (History, {"action": "nothing"}),
]


@pytest.mark.usefixtures("_written")
@pytest.mark.parametrize(("model", "change"), GUARDED)
def test_what_is_written_for_good_is_neither_changed_nor_deleted(model, change):
    with pytest.raises(IntegrityError, match="written once"), transaction.atomic():
        model.objects.update(**change)
    with pytest.raises(IntegrityError, match="written once"), transaction.atomic():
        model.objects.all()._raw_delete(model.objects.db)
    assert model.objects.exists()


@pytest.mark.usefixtures("_written")
@pytest.mark.parametrize(("model", "change"), GUARDED)
def test_a_table_of_the_ledger_is_not_truncated(model, change):
    if connection.vendor != "postgresql":
        pytest.skip("SQLite has no TRUNCATE")
    connection.check_constraints()
    table = connection.ops.quote_name(model._meta.db_table)
    with (
        pytest.raises(IntegrityError, match="written once"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(f"TRUNCATE {table} CASCADE")


def test_a_missing_guard_is_named():
    assert guards_missing() == []
    drop_guards("default")
    missing = guards_missing()
    assert len(missing) >= 8
    assert any("update of inventory_move" in sentence for sentence in missing)
    install_guards("default")
    assert guards_missing() == []


def test_putting_the_guards_up_twice_changes_nothing():
    install_guards("default")
    assert guards_missing() == []


def test_there_is_one_fixed_place_of_each_kind_but_storage():
    kinds = set(Place.objects.exclude(kind=PlaceKind.STORAGE).values_list("kind", flat=True))
    assert kinds == set(FIXED_KINDS)
    assert fixed_place(PlaceKind.WASTE).code == "WASTE"


@pytest.mark.django_db(transaction=True)
def test_guards_and_fixed_places_stand_again_after_a_flush():
    make.lot()
    drop_guards("default")
    call_command("flush", interactive=False, verbosity=0)
    assert guards_missing() == []
    assert fixed_place(PlaceKind.SUPPLIER).kind == PlaceKind.SUPPLIER
