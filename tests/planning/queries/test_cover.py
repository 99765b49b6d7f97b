"""Cover by item and the lots at risk."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from planning.models import Forecast
from planning.queries.cover import cover
from planning.queries.plan_rows import suggestions
from tests.planning.make import TODAY, grams, store
from tests.planning.queries.test_plan_rows import ordered

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]


def row_of(found, code):
    return next(row for row in found.rows if row.item_code == code)


def test_nothing_is_covered_where_nothing_is_wanted():
    store()
    assert cover(TODAY).rows == ()


def test_stock_lasts_as_long_as_the_plan_uses_it():
    made = store()
    made.lot(made.goods.ale_yeast, 15, received_on=TODAY, packaged_on=TODAY)
    for week in range(4):
        Forecast.objects.create(kit=made.kit, week_on=TODAY + timedelta(weeks=week), kits=10)
    row = row_of(cover(TODAY), "BOX")
    assert (row.usable, row.weeks[0].gross, row.weeks_of_cover) == (500, 10, pytest.approx(325, 1))
    assert row.short_on is None


def test_what_is_short_first_stands_first():
    made = store(hops=False)
    made.lot(made.goods.aroma, grams(3000), alpha=0.06)
    ordered(made.kit, 10, TODAY + timedelta(days=20))
    found = cover(TODAY)
    short = [row.item_code for row in found.rows if row.short_on]
    assert [row.item_code for row in found.rows][: len(short)] == short
    assert "BITTER" in short
    bitter = row_of(found, "BITTER")
    assert bitter.weeks_of_cover == pytest.approx(2, abs=1)
    (run,) = suggestions(TODAY).runs
    assert bitter.short_on == run.pack_on > TODAY


def test_what_the_plan_does_not_use_before_its_day_is_at_risk_at_cost():
    made = store()
    made.lot(
        made.goods.aroma,
        grams(1000),
        code="AROMA-OLD",
        alpha=0.06,
        best_before_on=TODAY + timedelta(days=10),
        cost_amount=500_000,
    )
    ordered(made.kit, 5, TODAY + timedelta(days=1))
    found = cover(TODAY)
    old = next(row for row in found.lots if row.lot_code == "AROMA-OLD")
    assert 0 < old.lasting.used < grams(1000)
    assert old.lasting.lost == grams(1000) - old.lasting.used
    assert found.value_at_risk == old.lasting.value_lost
    assert old.lasting.value_lost == round(500_000 * old.lasting.lost / grams(1000))


def test_a_lot_that_no_plan_takes_of_is_slow():
    made = store()
    spare = made.lot(made.goods.gypsum, grams(5), code="GYPSUM-SPARE")
    assert spare.code in {row.lot_code for row in cover(TODAY).lots if row.lasting.slow}


def test_cover_of_many_lots_takes_as_many_statements_as_of_few():
    made = store()
    ordered(made.kit, 5, TODAY + timedelta(days=1))
    with CaptureQueriesContext(connection) as few:
        cover(TODAY)
    for number in range(12):
        made.lot(made.goods.aroma, grams(10), code=f"A-{number}", alpha=0.05)
        Forecast.objects.create(kit=made.kit, week_on=TODAY + timedelta(weeks=number), kits=1)
    with CaptureQueriesContext(connection) as many:
        cover(TODAY)
    assert len(many) == len(few)
