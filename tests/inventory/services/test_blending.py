"""Two lots of an item become one."""

from __future__ import annotations

import math
from datetime import date, timedelta

import pytest

from inventory.ageing.hops import Stretch, alpha_after, decay_rate
from inventory.models import AnalysisKind, ItemKind, Lot
from inventory.queries.conversions import work_row
from inventory.queries.verify import stock_differences
from inventory.services.analyses import record_analysis
from inventory.services.lots import hold_lot
from inventory.services.works import undo_work
from tests import make
from tests.inventory.works import blended, hop, keeps, milled, on_hand

pytestmark = pytest.mark.django_db

SAMPLED_ON = make.TODAY - timedelta(days=40)


def _new() -> Lot:
    return Lot.objects.get(code="NEW-1")


def _said(lot: Lot, kind: AnalysisKind, value: float, **facts) -> None:
    wanted = {"sampled_on": SAMPLED_ON, **facts}
    record_analysis(by=make.user(), lot=lot, kind=kind, value=value, **wanted)


def _written(lot: Lot) -> dict[str, tuple[float, date, str]]:
    return {
        row.kind: (row.value, row.sampled_on, row.get_method_display())
        for row in lot.analyses.all()
    }


def test_a_blend_takes_of_each_and_makes_one():
    first, second = make.lot("PALE-1", 1000, cost_amount=100), make.lot("PALE-2", 500)
    work = blended((first, 600), (second, 500), gave=1090, reason="dust")
    new = _new()
    assert (on_hand("PALE-1"), on_hand("PALE-2"), on_hand("NEW-1")) == (400, 0, 1090)
    assert (new.made_by, new.from_lot, new.cost_amount) == (work, None, 60)
    assert stock_differences() == []


def test_a_blend_is_as_old_as_its_oldest_and_keeps_as_long_as_its_shortest():
    first = make.lot("PALE-1", packaged_on=date(2025, 12, 1), best_before_on=date(2026, 9, 30))
    second = make.lot("PALE-2", packaged_on=date(2025, 11, 1))
    blended((first, 10), (second, 10), gave=20)
    assert (_new().packaged_on, _new().best_before_on) == (date(2025, 11, 1), date(2026, 9, 30))


def test_alpha_is_the_mean_of_what_each_lot_holds_on_the_day():
    first, second = hop("FUG-1"), hop("FUG-2", packing="barrier")
    _said(first, AnalysisKind.ALPHA, 0.08, spread=0.02)
    _said(second, AnalysisKind.ALPHA, 0.05, sampled_on=make.TODAY, spread=0.04)
    blended((first, 300), (second, 100), gave=400, packing="airtight")
    lain = [Stretch(days=40, temperature_c=5.0, storage_factor=1.0)]
    aged = alpha_after(0.08, decay_rate(0.30), lain).value / 100
    mean = (3 * aged + 0.05) / 4
    value, sampled_on, method = _written(_new())["alpha"]
    assert value == pytest.approx(mean)
    assert (sampled_on, method) == (make.TODAY, "Blend, computed")
    spread = _new().analyses.get().spread
    assert spread == pytest.approx(math.hypot(3 * aged * 0.02, 0.05 * 0.04) / 4 / mean)
    assert _new().packing == "airtight"


def test_the_planning_alpha_stands_in_for_a_lot_that_nobody_measured():
    first, second = hop("FUG-1"), hop("FUG-2")
    _said(first, AnalysisKind.ALPHA, 0.04, sampled_on=make.TODAY)
    blended((first, 100), (second, 100), gave=200, packing="loose")
    assert _written(_new())["alpha"][0] == pytest.approx((0.04 + 0.08) / 2)


def test_of_what_nobody_measured_nothing_is_written():
    blended((hop("FUG-1"), 100), (hop("FUG-2"), 100), gave=200, packing="loose")
    assert not _new().analyses.exists()


def test_extract_colour_and_power_are_means_by_weight():
    first, second = make.lot("PALE-1"), make.lot("PALE-2")
    _said(first, AnalysisKind.EXTRACT, 310)
    _said(second, AnalysisKind.EXTRACT, 290)
    _said(second, AnalysisKind.COLOUR, 6)
    blended((first, 300), (second, 100), gave=400)
    written = _written(_new())
    assert written["extract"][0] == pytest.approx(305)
    assert written["colour"][0] == pytest.approx((3 * make.MALT.colour_lovibond + 6) / 4)
    assert "power" not in written


def test_unlike_lots_are_not_blended():
    pale, pellets = make.lot("PALE-1"), hop()
    with make.refused("blend-of-unlike-lots"):
        blended((pale, 10), (pellets, 10), gave=20)
    milled(pale, 100, 100)
    with make.refused("blend-of-unlike-lots") as caught:
        blended((pale, 10), (_new(), 10), gave=20, code="NEW-2")
    assert "one is whole and one is crushed" in caught.value.what
    cones = hop("FUG-2")
    Lot.objects.filter(pk=cones.pk).update(form="cone")
    with make.refused("blend-of-unlike-lots"):
        blended((pellets, 10), (cones, 10), gave=20, packing="loose")


def test_a_blend_is_of_two_lots():
    lot = make.lot("PALE-1")
    with make.refused("blend-of-one"):
        blended((lot, 10), (lot, 10), gave=20)


def test_what_is_counted_is_not_blended():
    ale = make.item("ALE", ItemKind.YEAST)
    with make.refused("work-does-not-fit"):
        blended((make.lot("A-1", item=ale), 1), (make.lot("A-2", item=ale), 1), gave=2)


def test_no_more_comes_out_of_a_blend_than_went_in():
    with make.refused("more-out-than-in"):
        blended((make.lot("PALE-1"), 10), (make.lot("PALE-2"), 10), gave=21)


def test_a_great_loss_is_taken_off_the_lots_and_needs_a_reason():
    item = keeps(make.item(), work_loss=0.01)
    first, second = (make.lot(code, item=item) for code in ("PALE-1", "PALE-2"))
    with make.refused("loss-without-reason"):
        blended((first, 600), (second, 100), gave=500)
    work = blended((first, 600), (second, 100), gave=500, reason="a torn sack")
    lost = work.postings.get().moves.get(to_place__kind="waste")
    assert (lost.lot.code, lost.quantity) == ("NEW-1", 200)
    row = work_row(work.pk)
    assert row is not None
    balance = row.balances[0]
    assert (balance.used, balance.made, balance.left, balance.lost) == (700, 500, 0, 200)
    assert (on_hand("PALE-1"), on_hand("PALE-2"), on_hand("NEW-1")) == (400, 900, 500)
    assert stock_differences() == []


def test_a_lot_on_hold_is_not_blended_as_a_loss():
    first, second = make.lot("PALE-1"), make.lot("PALE-2")
    hold_lot(by=make.user(), lot=second, expected=second.version, reason="weevils")
    with make.refused("lot-not-released"):
        blended((first, 600), (second, 100), gave=600, reason="spilt")


def test_a_blend_with_a_loss_is_parted_again():
    first, second = make.lot("PALE-1"), make.lot("PALE-2")
    work = blended((first, 600), (second, 100), gave=600, reason="spilt")
    undo_work(by=make.user(), conversion=work, key=make.key(), reason="slip")
    assert (on_hand("PALE-1"), on_hand("PALE-2"), on_hand("NEW-1")) == (1000, 1000, 0)
    assert stock_differences() == []


def test_a_blend_is_made_once():
    first, second, key = make.lot("PALE-1"), make.lot("PALE-2"), make.key()
    work = blended((first, 10), (second, 10), gave=20, key=key)
    assert blended((first, 10), (second, 10), gave=20, key=key) == work
    assert on_hand("PALE-1") == 990
