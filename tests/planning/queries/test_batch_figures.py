"""The beer of a batch from the lots it holds, beside the design of its kit."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from boxwort.accounts.models import SiteSettings
from inventory.models import AnalysisKind, HopForm, Item, Lot
from inventory.services.analyses import record_analysis
from planning.models import Allocation, Batch
from planning.queries.batch_figures import batch_figures
from planning.queries.batch_workings import batch_workings
from planning.services.reserving import reserve_run
from tests.planning.make import TODAY, ale_with_substitutes, grams, store, using

pytestmark = pytest.mark.django_db


@pytest.fixture
def made():
    return store()


def beer(made):
    if not Batch.objects.exists():
        made.reserved(10)
    batch = Batch.objects.get()
    return batch_figures([batch.pk])[batch.pk]


def figure(found, name):
    return next(row for row in found.rows if row.figure == name)


def measured(made, item, kind, value):
    lot = Lot.objects.get(item=item)
    record_analysis(by=made.by, lot=lot, kind=kind, sampled_on=TODAY, value=value)
    return lot


def test_lots_as_they_were_specified_give_the_beer_that_was_designed(made):
    found = beer(made)
    for name in ("og", "fg", "abv", "srm"):
        row = figure(found, name)
        assert row.made.value == pytest.approx(row.design.value, rel=1e-4)
    assert "count as specified" in found.notes[0]


def test_an_extract_of_less_yield_makes_a_thinner_beer(made):
    design = figure(beer(made), "og").design.value
    lot = measured(made, made.goods.dry_extract, AnalysisKind.EXTRACT, 350.0)
    found = beer(made)
    og = figure(found, "og")
    # 2.7 kg of 366 gave way to 350 litre-degrees per kg, in 20 L
    assert og.made.value == pytest.approx(design - 2.7 * 16 / 20 / 1000, abs=5e-5)
    assert og.difference < 0
    assert figure(found, "fg").difference < 0
    assert lot.code in found.notes[0]


def test_a_darker_malt_makes_a_darker_beer_and_leaves_its_strength(made):
    measured(made, made.goods.crystal, AnalysisKind.COLOUR, 90.0)
    found = beer(made)
    assert figure(found, "srm").difference > 1
    assert figure(found, "og").difference == pytest.approx(0, abs=1e-5)


def test_a_line_of_two_lots_counts_each_by_its_share(made):
    lot = Lot.objects.get(item=made.goods.dry_extract)
    Lot.objects.filter(pk=lot.pk).update(best_before_on=None)
    first = made.lot(
        made.goods.dry_extract, grams(13_500), code="THIN", best_before_on=TODAY.replace(year=2027)
    )
    record_analysis(by=made.by, lot=first, kind=AnalysisKind.EXTRACT, sampled_on=TODAY, value=300.0)
    found = beer(made)  # 27 kg for ten kits: half from THIN, which expires first
    both = Allocation.objects.filter(lot__item=made.goods.dry_extract, current=True)
    assert [row.quantity for row in both] == [grams(13_500), grams(13_500)]
    og = figure(found, "og")
    assert og.difference == pytest.approx(-2.7 * 33 / 20 / 1000, abs=5e-5)


def test_the_bitterness_is_that_of_the_weights_and_the_alpha_acid_of_the_sheet(made):
    found = figure(beer(made), "ibu")
    sheet = Batch.objects.get().sheets.get().content["figures"]
    assert found.made.value == pytest.approx(sheet["ibu"], rel=1e-3)
    assert {part.name for part in found.made.parts} >= {"Bitter, lot BITTER-A"}


def test_hops_of_another_form_give_what_the_house_says(made):
    before = figure(beer(made), "ibu").made.value
    SiteSettings.objects.update(form_factor_pellet=1.10)
    Lot.objects.filter(code="BITTER-A").update(form=HopForm.CONE)
    after = figure(beer(made), "ibu").made
    bitter = next(part for part in after.parts if "BITTER-A" in part.name)
    factor = next(term.value for term in bitter.terms if term.name == "form factor")
    assert factor == pytest.approx(1 / 1.10)
    assert after.value < before


def test_a_lot_counts_next_to_the_form_the_line_was_written_for(made):
    method = made.kit.method
    for line in method.frozen["content"]["lines"]:
        line["form"] = line["form"] and HopForm.CONE.value
    method.save()
    SiteSettings.objects.update(form_factor_pellet=1.10)
    parts = figure(beer(made), "ibu").made.parts
    bitter = next(part for part in parts if "BITTER-A" in part.name)
    factors = [term.value for term in bitter.terms if term.name == "form factor"]
    assert factors == pytest.approx([1.10])


def test_a_moved_boil_time_counts(made):
    before = figure(beer(made), "ibu").made.value
    Allocation.objects.filter(lot__code="BITTER-A").update(minutes=30)
    assert figure(beer(made), "ibu").made.value < before


def test_another_yeast_ends_at_its_own_gravity(made):
    usual = figure(beer(made), "fg").made.value
    line = Batch.objects.get().run_line
    line.yeast = made.goods.dry_ale_yeast
    line.save()
    assert figure(beer(made), "fg").made.value < usual  # 78 % in place of 76 %


def test_a_cancelled_batch_says_that_it_holds_nothing(made):
    run = made.reserved(10)
    Allocation.objects.update(current=False)
    batch = run.lines.get().batches.get()
    found = batch_figures([batch.pk])[batch.pk]
    assert found.rows == ()
    assert found.problem


def test_ten_batches_cost_as_many_statements_as_one(made):
    made.reserved(5)
    one = [Batch.objects.get().pk]
    with CaptureQueriesContext(connection) as few:
        batch_figures(one)
    for _ in range(3):
        made.reserved(5)
    all_of_them = list(Batch.objects.values_list("pk", flat=True))
    with CaptureQueriesContext(connection) as many:
        assert len(batch_figures(all_of_them)) == 4
    assert len(many) == len(few)


def test_the_workings_of_a_batch_are_those_of_its_sheet_and_its_lots(made):
    beer(made)
    found = batch_workings(Batch.objects.get().pk)
    sheet = Batch.objects.get().sheets.get()
    (balance,) = found.balance
    assert balance.value == pytest.approx(sheet.content["figures"]["ibu"])
    assert {alpha.name for alpha in found.alphas} == {"Bitter, lot BITTER-A", "Aroma, lot AROMA-A"}
    assert found.best_before
    assert found.yeast == ()  # it is added at dispatch


def test_a_substitute_counts_in_place_of_what_it_stands_for():
    made = store(recipe=ale_with_substitutes)
    made.lot(Item.objects.get(code="WHEAT"), grams(100_000), code="WHEAT-A")
    run = using(made, made.plan(10), "malt-1")
    reserve_run(by=made.by, run=run, expected=run.version)
    og = figure(beer(made), "og")
    assert {part.name for part in og.made.parts} == {"Wheat", "Crystal"}
    assert {part.name for part in og.design.parts} == {"Extract", "Crystal"}
    packed = Allocation.objects.get(lot__code="WHEAT-A").per_kit
    given = packed / grams(1000) * 350 + 0.3 * 150
    assert og.made.value == pytest.approx(1 + given / 20 / 1000, abs=1e-6)
