"""What work made ages on from what it was made of."""

from __future__ import annotations

from datetime import date

import pytest

from boxwort.accounts.models import SiteSettings
from inventory import events
from inventory.ageing.hops import Stretch, alpha_after, decay_rate
from inventory.models import AnalysisKind, Lot, Posting
from inventory.queries.hops import Pouch, hop_alphas
from inventory.queries.moves import inherited_analyses_of
from inventory.queries.stays import whereabouts_of
from inventory.services.analyses import record_analysis
from inventory.services.ledger import reverse_posting
from inventory.services.lots import move_lot
from tests import make
from tests.inventory.works import blended, broken_down, hop, packed, repacked

pytestmark = pytest.mark.django_db

SAMPLED_ON = date(2026, 1, 15)
FIRST_ON, SECOND_ON = date(2026, 2, 4), date(2026, 2, 14)
PACK_ON = date(2026, 3, 16)
SHELF = Pouch(temperature_c=20.0, packing="loose")
RATE = decay_rate(0.30)


def _said(lot: Lot, alpha: float, sampled_on: date = SAMPLED_ON) -> None:
    record_analysis(
        by=make.user(), lot=lot, kind=AnalysisKind.ALPHA, sampled_on=sampled_on, value=alpha
    )


def _lot(code: str) -> Lot:
    return Lot.objects.get(code=code)


def _code(pk: int) -> str:
    return Lot.objects.get(pk=pk).code


def _alpha(code: str) -> float:
    pk = _lot(code).pk
    return hop_alphas([pk], pack_on=PACK_ON, brew_on=PACK_ON, pouch=SHELF)[pk].alpha


def _aged(*stretches: tuple[int, float, float], alpha: float = 0.08) -> float:
    lives = [Stretch(days=days, temperature_c=t, storage_factor=f) for days, t, f in stretches]
    return alpha_after(alpha, RATE, lives).value / 100


def test_a_repack_starts_a_new_stretch_in_its_new_packing_and_place():
    loose = hop("FUG-1")
    _said(loose, 0.08)
    repacked(
        loose, 500, 500, packing="barrier", on=FIRST_ON, place=make.place("COLD", temperature_c=-5)
    )
    assert _alpha("NEW-1") == pytest.approx(_aged((20, 5.0, 1.0), (40, -5.0, 0.5)))
    assert _alpha("FUG-1") == pytest.approx(_aged((60, 5.0, 1.0)))


def test_a_second_repack_starts_another():
    loose = hop("FUG-1")
    _said(loose, 0.08)
    repacked(loose, 500, 500, packing="barrier", on=FIRST_ON)
    repacked(_lot("NEW-1"), 200, 200, packing="airtight", on=SECOND_ON, code="NEW-2")
    aged = _aged((20, 5.0, 1.0), (10, 5.0, 0.5), (30, 5.0, 0.75))
    assert _alpha("NEW-2") == pytest.approx(aged)


def test_where_the_old_lot_went_since_is_its_own_affair():
    loose = hop("FUG-1")
    _said(loose, 0.08)
    repacked(loose, 500, 500, packing="barrier", on=FIRST_ON)
    move_lot(
        by=make.user(),
        lot=loose,
        quantity=500,
        from_place=make.place(),
        to_place=make.place("LOFT", temperature_c=30),
        occurred_on=SECOND_ON,
        key=make.key(),
    )
    _said(loose, 0.05, sampled_on=date(2026, 3, 1))
    assert _alpha("NEW-1") == pytest.approx(_aged((20, 5.0, 1.0), (40, 5.0, 0.5)))


def test_a_correction_of_the_old_analysis_reaches_what_goes_on_from_it():
    loose = hop("FUG-1")
    _said(loose, 0.08)
    repacked(loose, 500, 500, packing="barrier", on=FIRST_ON)
    wrong = loose.analyses.get()
    record_analysis(
        by=make.user(),
        lot=loose,
        kind=AnalysisKind.ALPHA,
        sampled_on=SAMPLED_ON,
        value=0.06,
        supersedes=wrong,
    )
    aged = _aged((20, 5.0, 1.0), (40, 5.0, 0.5), alpha=0.06)
    assert _alpha("NEW-1") == pytest.approx(aged)
    [shown] = inherited_analyses_of(_lot("NEW-1").pk)
    assert (shown.value, shown.lot_code) == (0.06, "FUG-1")


def test_a_sample_of_the_new_lot_counts_from_its_day():
    loose = hop("FUG-1")
    _said(loose, 0.08)
    repacked(loose, 500, 500, packing="barrier", on=FIRST_ON)
    _said(_lot("NEW-1"), 0.07, sampled_on=SECOND_ON)
    assert _alpha("NEW-1") == pytest.approx(_aged((30, 5.0, 0.5), alpha=0.07))


def test_a_new_analysis_is_told_of_every_lot_that_it_is_true_of():
    loose = hop("FUG-1")
    repacked(loose, 500, 500, packing="barrier", on=FIRST_ON)
    repacked(_lot("NEW-1"), 200, 200, packing="airtight", on=SECOND_ON, code="NEW-2")
    heard: list[str] = []

    def hear(lot_id, **_):
        heard.append(_code(lot_id))

    events.lot_analysed.connect(hear)
    try:
        _said(loose, 0.07)
        _said(loose, 0.06, sampled_on=SECOND_ON)
    finally:
        events.lot_analysed.disconnect(hear)
    assert heard == ["FUG-1", "NEW-1", "NEW-2", "FUG-1"]


def test_a_move_written_down_late_is_told_of_what_went_on_from_the_lot_since():
    loose, loft = hop("FUG-1"), make.place("LOFT", temperature_c=30)
    repacked(loose, 500, 500, packing="barrier", on=SECOND_ON)
    heard: list[str] = []

    def hear(lot_id, **_):
        heard.append(_code(lot_id))

    def moved(on: date) -> Posting:
        return move_lot(
            by=make.user(),
            lot=loose,
            quantity=500,
            from_place=make.place(),
            to_place=loft,
            occurred_on=on,
            key=make.key(),
        )

    events.lot_moved.connect(hear)
    try:
        late = moved(FIRST_ON)
        reverse_posting(by=make.user(), posting=late, key=make.key(), reason="another lot")
        moved(PACK_ON)
    finally:
        events.lot_moved.disconnect(hear)
    assert heard == ["FUG-1", "NEW-1", "FUG-1", "NEW-1", "FUG-1"]


def test_a_blend_ages_from_the_day_it_was_made():
    first, second = hop("FUG-1"), hop("FUG-2")
    _said(first, 0.08)
    _said(second, 0.06)
    blended((first, 300), (second, 100), gave=400, packing="airtight", on=FIRST_ON)
    mean = _aged((20, 5.0, 1.0), alpha=0.075)
    assert _alpha("NEW-1") == pytest.approx(_aged((40, 5.0, 0.75), alpha=mean))


def test_hops_out_of_broken_kits_aged_in_the_pouch_where_the_kits_lay():
    SiteSettings.objects.update(pouch_packing="airtight")
    loose = hop("FUG-1")
    _said(loose, 0.08)
    warm = make.place("SHELF", temperature_c=20)
    kits = packed((loose, 100), kits=10, occurred_on=FIRST_ON, place=warm)
    make.place(code="SHELF", temperature_c=12, from_on=date(2026, 2, 9))
    broken_down(kits, 10, on=SECOND_ON, place=warm)
    aged = _aged((20, 5.0, 1.0), (5, 20.0, 0.75), (5, 12.0, 0.75), (30, 5.0, 0.75))
    assert _alpha("FUG-1-B10") == pytest.approx(aged)


@pytest.mark.parametrize("count", [1, 8])
def test_whereabouts_cost_two_statements_however_many_kits_were_broken_down(
    count, django_assert_num_queries
):
    lots = []
    for number in range(count):
        malt = make.lot(f"PALE-{number}")
        kits = packed((malt, 100), kits=10, code=f"KITS-{number}")
        lots += broken_down(kits, 4).outputs.values_list("pk", flat=True)
    with django_assert_num_queries(2):
        found = whereabouts_of(lots)
    assert len(found) == count
