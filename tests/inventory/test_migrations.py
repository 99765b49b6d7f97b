"""What the migrations do with the stock of a house that has worked before them."""

from __future__ import annotations

from importlib import import_module

import pytest
from django.apps import apps
from django.db import connection

from inventory.models import Lot
from inventory.queries.verify import stock_differences
from tests import make
from tests.inventory.works import broken_down, milled, packed

pytestmark = pytest.mark.django_db
works = import_module("inventory.migrations.0003_works")


@pytest.fixture
def editor():
    return connection.schema_editor(collect_sql=True)


def test_each_lot_names_the_work_that_brought_it_out_of_production(editor):
    flour = milled(make.lot("PALE-1"), 500, 500).outputs.get()
    broken_down(packed((flour, 100), kits=10), 4)
    before = dict(Lot.objects.values_list("code", "made_by"))
    Lot.objects.update(made_by=None)
    works.name_makers(apps, editor)
    assert dict(Lot.objects.values_list("code", "made_by")) == before
    assert stock_differences() == []


def test_there_is_no_way_back_that_forgets_what_lots_go_on_from(editor):
    works.keep_origins(apps, editor)
    milled(make.lot("PALE-1"), 500, 500)
    with pytest.raises(RuntimeError, match="1 lots go on from other lots"):
        works.keep_origins(apps, editor)
