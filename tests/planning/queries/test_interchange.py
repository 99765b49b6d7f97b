"""Other yeasts of the same strain group: what a kit would become with them."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from boxwort.quantities import Measure
from inventory.models import ItemKind, LotStatus, YeastSpec
from inventory.services.catalogue import YeastFacts
from planning.queries.interchange import interchange_rows
from recipes.models import Kit, Method
from tests.planning.make import TODAY, store
from tests.recipes.make import item, offered, offered_kit, pale_ale

pytestmark = pytest.mark.django_db


@pytest.fixture
def made():
    made = store()
    Kit.objects.update(shelf_days=3)
    YeastSpec.objects.filter(item=made.goods.ale_yeast).update(strain_group="Ale")
    return made


def other(code="OTHER", attenuation=0.70, group="Ale", **facts):
    known = {"form": "liquid", "cells_per_pack": 200e9, "pitch_million": 0.75} | facts
    spec = YeastFacts(attenuation=attenuation, strain_group=group, **known)
    return item(code, ItemKind.YEAST, Measure.COUNT, yeast=spec)


def fresh(made, what, packs=10, **facts):
    return made.lot(what, packs, packaged_on=TODAY, received_on=TODAY, **facts)


def test_a_yeast_of_the_group_says_what_it_would_change(made):
    lot = fresh(made, other())
    (row,) = interchange_rows(TODAY)
    assert (row.kit_code, row.item_code, row.other_code) == ("KIT-PALE", "ALE", "OTHER")
    assert (row.is_option, row.lots, row.packs_in_stock) == (False, (lot.code,), 10)
    left = {code: 1 - each.value / 100 for code, each in attenuations(row).items()}
    assert left == pytest.approx({"ALE": 0.24, "OTHER": 0.30})
    assert row.other_fg.value > row.fg.value
    assert row.other_abv.value < row.abv.value
    assert row.fg.value == pytest.approx(made.kit.figures["fg"]["value"], abs=1e-4)


def attenuations(row):
    return {
        code: next(term for term in working.terms if term.name == "attenuation of the yeast")
        for code, working in ((row.item_code, row.fg), (row.other_code, row.other_fg))
    }


def test_packs_are_worked_out_from_its_own_cells(made):
    fresh(made, other(cells_per_pack=400e9))
    (row,) = interchange_rows(TODAY)
    assert (row.packs, row.other_packs) == (2, 1)


def test_dry_yeast_is_dosed_by_weight(made):
    fresh(made, other(form="dry", pack_grams=4.0, dose_g_per_hl=50.0))
    (row,) = interchange_rows(TODAY)
    assert (row.other_form, row.other_packs) == ("dry", 3)


def test_where_trials_set_the_attenuation_both_are_taken_in_proportion(made):
    (method,) = Method.objects.filter(kits=made.kit)
    method.frozen["content"]["attenuation"] = 0.72
    method.save()
    fresh(made, other(attenuation=0.38))
    (row,) = interchange_rows(TODAY)
    assert {code: term.value for code, term in attenuations(row).items()} == pytest.approx(
        {"ALE": 72.0, "OTHER": 36.0}
    )


@pytest.mark.parametrize(
    "facts", [{"status": LotStatus.ON_HOLD}, {"best_before_on": TODAY - timedelta(days=1)}]
)
def test_a_yeast_without_a_usable_lot_is_no_help(made, facts):
    made.lot(
        other(), 10, received_on=TODAY - timedelta(days=9),
        packaged_on=TODAY - timedelta(days=9), **facts,
    )  # fmt: skip
    assert interchange_rows(TODAY) == ()


def test_another_group_or_none_is_no_interchange(made):
    fresh(made, other("LAGER", group="Lager"))
    fresh(made, other("LONE", group=""))
    assert interchange_rows(TODAY) == ()


@pytest.mark.parametrize("kits", [2, 8])
def test_interchange_takes_as_many_statements_for_two_kits_as_for_eight(made, kits):
    for number in range(kits):
        revision = offered(pale_ale(made.goods, f"R-{number}"))
        offered_kit(revision, f"KIT-{number}", made.goods)
        fresh(made, other(f"OTHER-{number}"))
    with CaptureQueriesContext(connection) as asked:
        assert len(interchange_rows(TODAY)) == (kits + 1) * kits
    assert len(asked) == 13
