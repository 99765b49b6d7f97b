"""Alpha acid and life of real lots, worked out from their analyses, places and dates."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from inventory.ageing.hops import Stretch, alpha_after, decay_rate
from inventory.ageing.yeast import DryStretch, active_share
from inventory.models import AnalysisKind, ItemKind
from inventory.queries.hops import Pouch, hop_alphas
from inventory.queries.yeasts import yeast_lives
from inventory.services.analyses import record_analysis
from inventory.services.lots import move_lot
from tests import make

pytestmark = pytest.mark.django_db

SAMPLED_ON = date(2026, 1, 15)
PACK_ON = date(2026, 3, 16)
BREW_ON = date(2026, 4, 15)
SHELF = Pouch(temperature_c=20.0, packing="airtight")
RATE = decay_rate(0.30)


def _hop_lot(code="FUG-1", **facts):
    facts.setdefault("packing", "loose")
    return make.lot(code, item=make.item("FUG", ItemKind.HOP), **facts)


def _analysed(lot, value, kind=AnalysisKind.ALPHA, sampled_on=SAMPLED_ON, **facts):
    return record_analysis(
        by=make.user(), lot=lot, kind=kind, sampled_on=sampled_on, value=value, **facts
    )


def _alpha(lot, pack_on=PACK_ON, brew_on=BREW_ON):
    return hop_alphas([lot.pk], pack_on=pack_on, brew_on=brew_on, pouch=SHELF)[lot.pk]


def _aged(*stretches):
    lives = [Stretch(days=days, temperature_c=t, storage_factor=f) for days, t, f in stretches]
    return alpha_after(0.08, RATE, lives).value / 100


def _moved(lot, place, on):
    move_lot(
        by=make.user(),
        lot=lot,
        quantity=1000,
        from_place=make.place(),
        to_place=place,
        occurred_on=on,
        key=make.key(),
    )


def test_a_hop_ages_in_store_from_its_sample_day_and_then_in_the_pouch():
    lot = _hop_lot()
    _analysed(lot, 0.08, spread=0.02)
    found = _alpha(lot)
    assert found.alpha == pytest.approx(_aged((60, 5.0, 1.0), (30, 20.0, 0.75)))
    assert found.spread == 0.02
    assert found.working.value == pytest.approx(found.alpha * 100)
    assert "Sampled on 15\u00a0Jan\u00a02026." in found.working.notes


def test_a_warm_place_ages_a_hop_from_the_day_it_went_there():
    lot = _hop_lot()
    _analysed(lot, 0.08)
    _moved(lot, make.place("LOFT", 25.0), date(2026, 2, 4))
    expected = _aged((20, 5.0, 1.0), (40, 25.0, 1.0), (30, 20.0, 0.75))
    assert _alpha(lot).alpha == pytest.approx(expected)


def test_a_place_that_grew_warmer_ages_a_hop_faster_from_then():
    lot = _hop_lot()
    _analysed(lot, 0.08)
    make.place(temperature_c=15.0, from_on=date(2026, 2, 4))
    expected = _aged((20, 5.0, 1.0), (40, 15.0, 1.0), (30, 20.0, 0.75))
    assert _alpha(lot).alpha == pytest.approx(expected)


def test_where_most_of_a_lot_lies_counts():
    lot = _hop_lot()
    _analysed(lot, 0.08)
    move_lot(
        by=make.user(),
        lot=lot,
        quantity=499,
        from_place=make.place(),
        to_place=make.place("LOFT", 25.0),
        occurred_on=date(2026, 2, 4),
        key=make.key(),
    )
    assert _alpha(lot).alpha == pytest.approx(_aged((60, 5.0, 1.0), (30, 20.0, 0.75)))


def test_an_unknown_temperature_is_taken_as_20_degrees_and_said():
    lot = _hop_lot(place=make.place("SHED", None))
    _analysed(lot, 0.08, sampled_on=make.RECEIVED_ON - timedelta(days=10))
    found = _alpha(lot)
    assert found.alpha == pytest.approx(_aged((80, 20.0, 1.0), (30, 20.0, 0.75)))
    assert any("not known for 80 days" in note for note in found.working.notes)


def test_the_packing_of_the_lot_sets_the_factor_and_else_that_of_the_item():
    tight, usual = _hop_lot("A", packing="airtight"), _hop_lot("B", packing="")
    for lot in (tight, usual):
        _analysed(lot, 0.08)
    assert _alpha(tight).alpha == pytest.approx(_aged((60, 5.0, 0.75), (30, 20.0, 0.75)))
    assert _alpha(usual).alpha == pytest.approx(_aged((60, 5.0, 0.5), (30, 20.0, 0.75)))


def test_the_newest_sample_counts_and_a_superseded_one_does_not():
    lot = _hop_lot()
    _analysed(lot, 0.09, sampled_on=make.RECEIVED_ON)
    _analysed(lot, 0.08)
    wrong = _analysed(lot, 0.3, sampled_on=PACK_ON)
    _analysed(lot, 0.07, sampled_on=date(2026, 1, 10), supersedes=wrong)
    assert _alpha(lot).alpha == pytest.approx(_aged((60, 5.0, 1.0), (30, 20.0, 0.75)))


def test_alpha_on_dry_basis_is_put_to_as_is():
    lot = _hop_lot()
    _analysed(lot, 0.10, AnalysisKind.MOISTURE)
    _analysed(lot, 0.10, basis="dry")
    found = _alpha(lot, pack_on=SAMPLED_ON, brew_on=SAMPLED_ON)
    assert found.alpha == pytest.approx(0.09)
    assert any("10 % moisture" in note for note in found.working.notes)


def test_a_sample_taken_after_packing_ages_in_the_pouch_from_then():
    lot = _hop_lot()
    _analysed(lot, 0.08, sampled_on=PACK_ON + timedelta(days=10))
    assert _alpha(lot).alpha == pytest.approx(_aged((20, 20.0, 0.75)))


def test_without_an_analysis_the_planning_alpha_stands_in_and_is_not_aged():
    found = _alpha(_hop_lot())
    assert (found.alpha, found.spread) == (0.08, 0.03)
    assert any("No analysis yet" in note for note in found.working.notes)


def test_what_is_no_hop_has_no_alpha():
    lot = make.lot()
    assert hop_alphas([lot.pk], pack_on=PACK_ON, brew_on=BREW_ON, pouch=SHELF) == {}
    assert yeast_lives([lot.pk]).yeasts == {}


def _yeast_lot(facts=make.LIQUID, **more):
    item = make.item("ALE", ItemKind.YEAST, yeast=facts)
    if facts.form == "liquid":
        more.setdefault("place", make.place("FRIDGE", 4.0))
    return make.lot(item=item, quantity=50, **more)


def _life(lot, on):
    return yeast_lives([lot.pk]).on(lot.pk, on)


def test_liquid_yeast_dies_from_the_day_on_the_pack():
    lot = _yeast_lot(packaged_on=date(2026, 1, 1))
    found = _life(lot, date(2026, 1, 31))
    assert found.share == pytest.approx(0.79)
    assert (found.form, found.cells_per_pack) == ("liquid", 100e9)


def test_liquid_yeast_dies_by_the_rule_its_strain_names():
    lot = _yeast_lot(
        replace(make.LIQUID, viability_rule="exponential"), packaged_on=date(2026, 1, 1)
    )
    assert _life(lot, date(2026, 3, 2)).share == pytest.approx(0.79**2)


def test_a_pack_without_a_date_is_taken_from_receipt_and_said():
    found = _life(_yeast_lot(), make.RECEIVED_ON + timedelta(days=10))
    assert found.share == pytest.approx(0.93)
    assert any("names no date" in note for note in found.working.notes)


def test_a_count_of_living_cells_starts_the_clock_again():
    lot = _yeast_lot(packaged_on=date(2025, 6, 1))
    _analysed(lot, 0.9, AnalysisKind.VIABILITY)
    _analysed(lot, 120e9, AnalysisKind.CELLS)
    found = _life(lot, SAMPLED_ON + timedelta(days=30))
    assert found.share == pytest.approx(0.9 - 0.21)  # of a full pack
    assert found.cells_per_pack == 120e9
    assert any("Counted on 15\u00a0Jan\u00a02026" in note for note in found.working.notes)


def test_dry_yeast_loses_by_how_warm_it_lay():
    lot = _yeast_lot(make.DRY, packaged_on=make.RECEIVED_ON)
    _move_day = make.RECEIVED_ON + timedelta(days=100)
    move_lot(
        by=make.user(),
        lot=lot,
        quantity=50,
        from_place=make.place(),
        to_place=make.place("LOFT", 25.0),
        occurred_on=_move_day,
        key=make.key(),
    )
    expected = active_share(
        [DryStretch(days=100, temperature_c=5.0), DryStretch(days=50, temperature_c=25.0)]
    )
    found = _life(lot, _move_day + timedelta(days=50))
    assert found.share == pytest.approx(expected)
    assert (found.form, found.pack_grams) == ("dry", 11.5)


@pytest.mark.parametrize("count", [3, 30])
def test_ageing_costs_four_statements_however_many_lots(count, django_assert_num_queries):
    hops = [_hop_lot(f"FUG-{number}") for number in range(count)]
    yeasts = [_yeast_lot(code=f"ALE-{number}") for number in range(count)]
    for lot in hops:
        _analysed(lot, 0.08)
    with django_assert_num_queries(4):
        ids = [lot.pk for lot in hops]
        assert len(hop_alphas(ids, pack_on=PACK_ON, brew_on=BREW_ON, pouch=SHELF)) == count
    with django_assert_num_queries(4):
        lives = yeast_lives([lot.pk for lot in yeasts])
        assert len({lot.pk: lives.on(lot.pk, PACK_ON) for lot in yeasts}) == count
