"""What-ifs: written, changed and dropped without touching anything real."""

from __future__ import annotations

from datetime import timedelta

import pytest

from inventory.services.catalogue import write_offer, write_supplier
from planning.models import ChangeKind, Forecast, WhatIf, WhatIfChange
from planning.queries.what_ifs import comparison, what_if_rows
from planning.services.what_ifs import (
    MOST_CHANGES,
    Other,
    add_change,
    begin_what_if,
    drop_what_if,
    other_demand,
    other_lead_time,
    other_lot_alpha,
    other_lot_date,
    take_change_out,
)
from tests.make import refused
from tests.planning.make import TODAY, grams, store
from tests.planning.queries.test_plan_rows import ordered

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]
NEXT_WEEK = TODAY + timedelta(days=7)


def begun(made, name="More kits") -> WhatIf:
    return begin_what_if(by=made.by, name=name)


def add(made, what_if, other) -> WhatIfChange:
    what_if.refresh_from_db()
    return add_change(by=made.by, what_if=what_if, expected=what_if.version, other=other)


def figure(found, name) -> tuple[int, ...]:
    return next(row.values for row in found.figures if row.name == name)


def test_a_what_if_says_in_words_what_would_be_otherwise():
    made = store()
    what_if = begun(made)
    lot = made.lot(made.goods.bittering, grams(10), code="BITTER-B", alpha=0.1)
    supplier = write_supplier(by=made.by, code="HOPCO", name="Hop Company")
    add(made, what_if, other_demand(made.kit, week=NEXT_WEEK, kits=40))
    add(made, what_if, other_demand(made.kit, times=1.5))
    add(made, what_if, other_lot_date(lot, NEXT_WEEK))
    add(made, what_if, other_lot_alpha(lot, 0.085))
    add(made, what_if, other_lead_time(supplier, 21))
    (row,) = what_if_rows()
    assert [(change.about, change.said.replace("\xa0", " ")) for change in row.changes] == [
        (made.kit.item.name, "a forecast of 40 kits in the week of 9 Mar 2026"),
        (made.kit.item.name, "1.5 times the forecast in every week"),
        ("BITTER-B (Bitter)", "best before 9 Mar 2026"),
        ("BITTER-B (Bitter)", "8.5 % alpha acid"),
        ("Hop Company", "21 days of lead time"),
    ]


def test_what_is_said_of_the_same_thing_again_replaces_it():
    made = store()
    what_if = begun(made)
    add(made, what_if, other_demand(made.kit, week=NEXT_WEEK, kits=40))
    add(made, what_if, other_demand(made.kit, week=NEXT_WEEK + timedelta(days=3), kits=50))
    assert WhatIfChange.objects.get().values == {"week": NEXT_WEEK.isoformat(), "kits": 50}


def test_a_what_if_has_a_name_of_its_own():
    made = store()
    begun(made)
    with refused("what-if-name-taken"):
        begun(made)
    with refused("what-if-unnamed"):
        begun(made, " ")


@pytest.mark.parametrize(
    "other",
    [
        Other(kind=ChangeKind.DEMAND, about=0, values={"kits": 1}),
        Other(kind=ChangeKind.LOT_DATE, about=0, values={"best_before_on": "2026-03-09"}),
        Other(kind=ChangeKind.LOT_ALPHA, about=0, values={"alpha": 0.1}),
        Other(kind=ChangeKind.LEAD_TIME, about=0, values={"lead_days": 1}),
    ],
)
def test_what_is_not_there_cannot_be_otherwise(other):
    made = store()
    with refused("change-impossible"):
        add(made, begun(made), other)


def test_numbers_that_nobody_means_are_refused():
    made = store()
    what_if = begun(made)
    for other in (other_demand(made.kit, kits=10**7), other_demand(made.kit, times=21.0)):
        with refused("change-impossible"):
            add(made, what_if, other)


def test_a_what_if_holds_a_number_of_changes_that_can_be_read():
    made = store()
    what_if = begun(made)
    WhatIfChange.objects.bulk_create(
        WhatIfChange(what_if=what_if, kind=ChangeKind.LEAD_TIME, about=n, values={"lead_days": 1})
        for n in range(MOST_CHANGES)
    )
    with refused("too-many-changes"):
        add(made, what_if, other_demand(made.kit, kits=1))


def test_a_change_is_taken_out_and_a_what_if_is_dropped():
    made = store()
    what_if = begun(made)
    change = add(made, what_if, other_demand(made.kit, kits=1))
    with refused("changed-by-someone-else"):
        take_change_out(by=made.by, what_if=what_if, expected=1, change_id=change.pk)
    what_if.refresh_from_db()
    take_change_out(by=made.by, what_if=what_if, expected=what_if.version, change_id=change.pk)
    with refused("change-gone"):
        take_change_out(by=made.by, what_if=what_if, expected=what_if.version, change_id=change.pk)
    what_if.refresh_from_db()
    drop_what_if(by=made.by, what_if=what_if, expected=what_if.version)
    assert not WhatIf.objects.exists()


def test_more_demand_asks_for_more_kits_and_nothing_real_is_touched():
    made = store()
    Forecast.objects.create(kit=made.kit, week_on=NEXT_WEEK, kits=10)
    what_if = begun(made)
    add(made, what_if, other_demand(made.kit, times=2.0))
    found = comparison(TODAY, [what_if])
    assert found.names == ("As it is", "More kits")
    assert figure(found, "Kits suggested") == (10, 20)
    assert Forecast.objects.get().kits == 10


def test_a_kit_that_nobody_wants_can_be_wanted_in_a_what_if():
    made = store()
    what_if = begun(made)
    add(made, what_if, other_demand(made.kit, week=NEXT_WEEK, kits=7))
    assert figure(comparison(TODAY, [what_if]), "Kits suggested") == (0, 7)


def test_a_weaker_lot_must_be_made_up_for_by_buying_sooner():
    made = store(hops=False)
    made.lot(made.goods.aroma, grams(3000), alpha=0.06)
    lot = made.lot(made.goods.bittering, grams(400), code="BITTER-A", alpha=0.08)
    supplier = write_supplier(by=made.by, code="HOPCO", name="Hop Company", lead_days=3)
    write_offer(
        by=made.by,
        supplier=supplier,
        item=made.goods.bittering,
        pack_quantity=grams(100),
        breaks=[(1, 50_000)],
    )
    ordered(made.kit, 8, NEXT_WEEK)
    weaker, slower = begun(made, "Weaker"), begun(made, "Slower too")
    for what_if in (weaker, slower):
        add(made, what_if, other_lot_alpha(lot, 0.02))
    add(made, slower, other_lead_time(supplier, 30))
    found = comparison(TODAY, [weaker, slower])
    as_it_is, with_weaker, with_slower = figure(found, "Orders to place")
    assert as_it_is < with_weaker == with_slower
    assert figure(found, "of which past due")[:2] == (0, 0)
    assert figure(found, "of which past due")[2] > 0
    assert [row.item_code for row in found.items] == ["BITTER"]


def test_a_lot_that_ends_sooner_serves_nothing_after_its_day():
    made = store(hops=False)
    made.lot(made.goods.aroma, grams(3000), alpha=0.06)
    lot = made.lot(made.goods.bittering, grams(2000), code="BITTER-A", alpha=0.08)
    ordered(made.kit, 8, NEXT_WEEK)
    what_if = begun(made, "Ends today")
    add(made, what_if, other_lot_date(lot, TODAY))
    found = comparison(TODAY, [what_if])
    before, after = figure(found, "Items that nobody offers")
    assert after == before + 1


def test_plans_are_compared_in_as_many_statements_however_many_changes(
    django_assert_max_num_queries,
):
    made = store()
    what_if = begun(made)
    add(made, what_if, other_demand(made.kit, times=2.0))
    with django_assert_max_num_queries(60) as few:
        comparison(TODAY, [what_if])
    for week in range(5):
        add(made, what_if, other_demand(made.kit, week=TODAY + timedelta(weeks=week), kits=3))
    with django_assert_max_num_queries(60) as many:
        comparison(TODAY, [what_if])
    assert len(many) == len(few)
