from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from boxwort.figures import NO_BREAK
from boxwort.quantities import Measure
from inventory.models import ItemKind, LotStatus
from planning.models import DispatchZone
from planning.queries.dispatch_board import dispatch_board
from planning.queries.dispatch_choices import dispatch_choice
from recipes.models import Part
from tests.make import item
from tests.planning.dispatching import kits, line, milled, one_order, order, shop, yeast, zone
from tests.planning.make import TODAY
from tests.recipes.make import kg

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]

SUMMER = {"warm_from": 1101, "warm_until": 331, "warm_temperature_c": 30.0}


def choice(of, on=TODAY):
    return dispatch_choice(of.pk, on)


def boxes(row):
    return {offer.lot.code: offer.boxes for offer in row.offers if offer.boxes}


def refusals(row):
    return {
        offer.lot.code: offer.verdict.refused.replace(NO_BREAK, " ")
        for offer in row.offers
        if offer.verdict.refused
    }


def yeast_row(found):
    return next(row for row in found.lines[0].rows if row.is_yeast)


def test_the_kits_that_expire_first_go_first():
    made = shop()
    kits(made, 3, "LATE", best_before_on=TODAY + timedelta(days=90))
    kits(made, 3, "EARLY", best_before_on=TODAY + timedelta(days=60))
    yeast(made, 60, "YEAST")
    found = choice(one_order(made, 4))
    assert boxes(found.lines[0].row("kit")) == {"EARLY": 3, "LATE": 1}
    assert (found.lines[0].ready, found.complete) == (4, True)


def test_kits_that_are_held_expired_or_dead_on_arrival_cannot_go_and_it_is_said_why():
    made = shop()
    kits(made, 3, "HELD", status=LotStatus.QUARANTINE)
    kits(made, 3, "TOO-LATE", best_before_on=TODAY + timedelta(days=1))
    kits(made, 3, "SHORT", best_before_on=TODAY + timedelta(days=9))
    row = choice(one_order(made, 4)).lines[0].row("kit")
    assert refusals(row) == {
        "HELD": "is in quarantine",
        "TOO-LATE": "is best before 3 Mar 2026, and arrives on 4 Mar 2026",
    }
    assert row.short == 4
    assert "Lot HELD is in quarantine: release it." in row.remedies
    assert "Lot SHORT, which keeps 7 days after it arrives, may be chosen by hand." in row.remedies


def test_what_comes_is_told_until_it_is_enough():
    made = shop()
    runs = [
        made.plan(kits, TODAY + timedelta(days=day)) for kits, day in ((3, 4), (2, 11), (9, 18))
    ]
    row = choice(one_order(made, 5)).lines[0].row("kit")
    told = [said.replace(NO_BREAK, " ") for said in row.remedies]
    assert told == [
        f"Run {runs[0].code} packs 3 on 6 Mar 2026.",
        f"Run {runs[1].code} packs 2 on 13 Mar 2026.",
    ]


def test_without_enough_yeast_no_more_kits_leave_than_it_is_for():
    made = shop()
    kits(made, 10, "KITS")
    packs = yeast_row(choice(one_order(made, 4))).per_box
    yeast(made, 3 * packs, "YEAST")
    found = choice(one_order(made, 6))
    assert found.lines[0].ready == 3
    assert boxes(found.lines[0].row("kit")) == {"KITS": 3}
    assert yeast_row(found).short == 3


@pytest.fixture
def two_yeasts():
    made = shop()
    kits(made, 10, "KITS")
    yeast(made, 60, "OLD", age=30)
    yeast(made, 60, "NEW", age=2)
    return made


def test_the_older_yeast_that_still_reaches_its_target_goes_first(two_yeasts):
    two_yeasts.kit.target_share, two_yeasts.kit.floor_share = 0.6, 0.4
    two_yeasts.kit.save()
    assert list(boxes(yeast_row(choice(one_order(two_yeasts))))) == ["OLD"]


def test_where_the_older_yeast_does_not_reach_it_the_younger_goes(two_yeasts):
    two_yeasts.kit.target_share, two_yeasts.kit.floor_share = 0.97, 0.4
    two_yeasts.kit.save()
    row = yeast_row(choice(one_order(two_yeasts)))
    assert list(boxes(row)) == ["NEW"]
    old = next(offer for offer in row.offers if offer.lot.code == "OLD")
    assert "below the target of 97 %" in old.verdict.note.replace(NO_BREAK, " ")


def test_yeast_below_its_floor_cannot_go(two_yeasts):
    two_yeasts.kit.target_share, two_yeasts.kit.floor_share = 1.2, 1.1
    two_yeasts.kit.save()
    found = choice(one_order(two_yeasts))
    assert set(refusals(yeast_row(found))) >= {"OLD"}
    assert "below the floor" in refusals(yeast_row(found))["OLD"]


def pitched(row):
    return {offer.lot.code: offer.verdict.pitch.pitched for offer in row.offers}


def test_a_warm_way_takes_more_of_the_yeast_and_ice_goes_with_it(two_yeasts):
    ice = item("ICE", ItemKind.PACKAGING, measure=Measure.COUNT)
    cool = pitched(yeast_row(choice(one_order(two_yeasts))))
    south = zone("SOUTH", transit_days=2, ice_item=ice, ice_packs=2, **SUMMER)
    two_yeasts.lot(ice, 7, code="ICE-A")
    warm_order = order("C-2", zone=south)
    line(warm_order, 4, kit=two_yeasts.kit)
    found = choice(warm_order)
    assert found.way.temperature_c == 30.0
    warm = pitched(yeast_row(found))
    assert all(warm[code] < cool[code] for code in ("OLD", "NEW"))
    assert boxes(found.lines[0].row("ice")) == {"ICE-A": 3}
    assert found.lines[0].row("ice").short == 1


def test_in_the_cool_season_no_ice_is_packed(two_yeasts):
    ice = item("ICE", ItemKind.PACKAGING, measure=Measure.COUNT)
    summer = {"warm_from": 601, "warm_until": 831}
    DispatchZone.objects.all().delete()
    zone(ice_item=ice, ice_packs=2, **summer)
    assert choice(one_order(two_yeasts)).lines[0].row("ice") is None


def test_with_the_dry_yeast_that_was_chosen_no_ice_is_packed(two_yeasts):
    ice = item("ICE", ItemKind.PACKAGING, measure=Measure.COUNT)
    zone(ice_item=ice, ice_packs=2, **SUMMER)
    yeast(two_yeasts, 60, "DRY", item=two_yeasts.goods.dry_ale_yeast)
    found = choice(one_order(two_yeasts, 2, yeast=two_yeasts.goods.dry_ale_yeast))
    assert found.lines[0].row("ice") is None
    assert list(boxes(yeast_row(found))) == ["DRY"]


@pytest.fixture
def grain():
    """Return a store whose kit has its grain added at dispatch, crushed and whole."""
    made = shop(grain_part=Part.DISPATCH)
    kits(made, 10, "KITS")
    yeast(made, 60, "YEAST")
    milled(made, kg(1), "MILLED")
    return made


def grain_row(found):
    return next(row for row in found.lines[0].rows if row.pick)


def test_a_whole_line_never_takes_grain_that_is_crushed(grain):
    row = grain_row(choice(one_order(grain, 2, crushed=False)))
    assert refusals(row) == {"MILLED": "is crushed, and this line is whole"}
    assert boxes(row)
    assert "MILLED" not in boxes(row)


def test_a_crushed_line_takes_what_is_crushed_already_and_crushes_the_rest(grain):
    row = grain_row(choice(one_order(grain, 4)))
    assert next(iter(boxes(row))) == "MILLED"
    whole = next(offer for offer in row.offers if offer.lot.crushed_on is None)
    assert whole.verdict.note == "is to be crushed for the box"


def test_what_other_orders_were_promised_earlier_is_said_and_not_kept_from_this_one():
    made = shop()
    kits(made, 5, "KITS")
    yeast(made, 60, "YEAST")
    first = order("C-0", promised_on=TODAY - timedelta(days=1))
    line(first, 3, kit=made.kit)
    found = choice(one_order(made, 4))
    assert found.lines[0].ready == 4
    (said,) = found.promised
    assert "3 are promised earlier to C-0, and 5 are here" in said


def test_the_board_serves_what_was_promised_first_from_what_is_here():
    made = shop()
    kits(made, 5, "KITS")
    yeast(made, 60, "YEAST")
    late = one_order(made, 4)
    first = order("C-0", promised_on=TODAY - timedelta(days=1), zone=late.zone)
    line(first, 3, kit=made.kit)
    (day,) = dispatch_board(TODAY)
    rows = {row.code: row for row in day.rows}
    assert (rows["C-0"].complete, rows["C-0"].late) == (True, True)
    assert (rows["C-1"].kits_ready, rows["C-1"].kits, rows["C-1"].late) == (2, 4, False)
    (lack,) = rows["C-1"].lacking
    assert lack.amount.startswith("2")


def test_the_board_puts_orders_on_the_day_their_zone_ships():
    made = shop()
    kits(made, 50, "KITS")
    friday = order("C-5", zone=zone("EAST", ship_weekdays="4"))
    line(friday, 1, kit=made.kit)
    ahead = order("C-6", promised_on=TODAY + timedelta(days=20), zone=friday.zone)
    line(ahead, 1, kit=made.kit)
    days = dispatch_board(TODAY)
    assert [day.on for day in days] == [date(2026, 3, 6), date(2026, 3, 27)]


def test_the_board_takes_the_same_statements_for_one_order_and_for_many():
    made = shop()
    kits(made, 50, "KITS")
    yeast(made, 60, "YEAST")

    def asked():
        with CaptureQueriesContext(connection) as statements:
            dispatch_board(TODAY)
        return len(statements)

    one_order(made, 4)
    before = asked()
    for number in range(5):
        more = order(f"D-{number}", zone=zone(f"Z-{number}"))
        line(more, 2, kit=made.kit)
        line(more, 3, item=made.goods.box)
    assert asked() == before
