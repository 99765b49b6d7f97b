"""Alpha acid of hop lots by all that was read on them: no loss counts twice, nothing unsaid."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.ageing.hops import (
    StorageGrade,
    Stretch,
    alpha_after,
    decay_rate,
    index_loss,
    rate_between,
)
from inventory.models import AnalysisKind, ItemKind, Lot
from inventory.queries.hops import Pouch, hop_alphas, hop_lives
from inventory.services.analyses import record_analysis
from tests import make

pytestmark = pytest.mark.django_db

SAMPLED_ON = date(2026, 1, 15)
PACK_ON = date(2026, 3, 16)
BREW_ON = date(2026, 4, 15)
RATE = decay_rate(0.30)
SHELF = Pouch(temperature_c=20.0, packing="airtight")
#: Two months in a cold store, loose, and one on a shelf in an airtight pouch.
STORED = (
    Stretch(days=60, temperature_c=5.0),
    Stretch(days=30, temperature_c=20.0, storage_factor=0.75),
)


def _hop_lot(code="FUG-1", **facts):
    facts.setdefault("packing", "loose")
    return make.lot(code, item=make.item("FUG", ItemKind.HOP), **facts)


def _analysed(lot, value, kind=AnalysisKind.ALPHA, sampled_on=SAMPLED_ON, **facts):
    return record_analysis(
        by=make.user(), lot=lot, kind=kind, sampled_on=sampled_on, value=value, **facts
    )


def _alpha(lot, pack_on=PACK_ON, brew_on=BREW_ON):
    return hop_alphas([lot.pk], pack_on=pack_on, brew_on=brew_on, pouch=SHELF)[lot.pk]


def _aged(alpha, stretches=STORED, rate=RATE):
    return pytest.approx(alpha_after(alpha, rate, stretches).value / 100)


def _index(lot, value, sampled_on, **facts):
    return _analysed(lot, value, AnalysisKind.STORAGE_INDEX, sampled_on, **facts)


def _notes(found):
    return " ".join(found.working.notes)


def test_an_index_beside_a_measured_alpha_is_a_grade_and_takes_nothing_off():
    lot = _hop_lot()
    _analysed(lot, 0.08)
    _index(lot, 0.45, SAMPLED_ON)
    assert _alpha(lot).alpha == _aged(0.08)
    index = hop_lives([lot.pk]).indices[lot.pk]
    assert (index.grade, index.rate) == (StorageGrade.AGED, None)
    assert "already holds" in index.working.notes[-1]


def test_an_index_after_a_measured_alpha_is_a_grade_too():
    lot = _hop_lot()
    _analysed(lot, 0.08)
    _index(lot, 0.45, SAMPLED_ON + timedelta(days=30))
    assert _alpha(lot).alpha == _aged(0.08)


def test_a_harvest_alpha_and_an_index_give_what_is_left_on_the_day_of_the_index():
    lot = _hop_lot()
    _analysed(lot, 0.10, sampled_on=date(2025, 9, 10), at_harvest=True)
    _index(lot, 0.28, make.RECEIVED_ON)
    _index(lot, 0.31, SAMPLED_ON)
    found = _alpha(lot, pack_on=SAMPLED_ON, brew_on=SAMPLED_ON)
    assert found.alpha == pytest.approx(0.10 * (1 - index_loss(0.31)))
    assert "8.97 % was left on 2026-01-15" in _notes(found)
    assert "Alpha acid by storage index" in [part.name for part in found.working.parts]


def test_what_the_index_took_off_is_not_aged_off_again():
    lot = _hop_lot()
    _analysed(lot, 0.10, sampled_on=date(2025, 9, 10), at_harvest=True)
    _index(lot, 0.31, SAMPLED_ON)
    left = 0.10 * (1 - index_loss(0.31))
    assert _alpha(lot).alpha == _aged(left)


def test_a_harvest_alpha_without_an_index_since_ages_from_the_harvest():
    lot = _hop_lot()
    _analysed(lot, 0.08, sampled_on=SAMPLED_ON, at_harvest=True)
    _index(lot, 0.31, SAMPLED_ON - timedelta(days=1))
    found = _alpha(lot)
    assert found.alpha == _aged(0.08)
    assert "ages from the harvest" in _notes(found)


def test_a_measured_alpha_takes_the_place_of_the_harvest_value():
    lot = _hop_lot()
    _analysed(lot, 0.10, sampled_on=make.RECEIVED_ON, at_harvest=True)
    _index(lot, 0.45, SAMPLED_ON + timedelta(days=10))
    _analysed(lot, 0.08)
    assert _alpha(lot).alpha == _aged(0.08)


def test_two_indices_give_the_lot_a_rate_of_its_own_and_say_so():
    lot = _hop_lot()
    _analysed(lot, 0.08)
    _index(lot, 0.26, make.RECEIVED_ON)
    _index(lot, 0.29, SAMPLED_ON)
    lain = [Stretch(days=10, temperature_c=5.0)]
    rate = rate_between(0.26, 0.29, lain).value
    found = _alpha(lot)
    assert found.alpha == _aged(0.08, rate=rate)
    assert "in place of its variety's" in _notes(found)
    own = hop_lives([lot.pk]).indices[lot.pk].rate
    assert own.value == pytest.approx(rate)
    assert own in found.working.parts


def test_a_rate_over_a_few_days_of_unknown_warmth_says_which_way_it_errs():
    lot = _hop_lot()
    _analysed(lot, 0.08)
    _index(lot, 0.26, make.RECEIVED_ON - timedelta(days=10))
    _index(lot, 0.30, make.RECEIVED_ON + timedelta(days=40))
    lain = [Stretch(days=10, temperature_c=20.0), Stretch(days=40, temperature_c=5.0)]
    own = hop_lives([lot.pk]).indices[lot.pk].rate
    assert own.value == pytest.approx(rate_between(0.26, 0.30, lain).value)
    assert "not known for 10 days" in own.notes[-2]
    assert "rate is higher" in own.notes[-1]


@pytest.mark.parametrize(
    ("first", "second", "why"),
    [
        ((0.35, 5), (0.30, 10), "do not grow younger"),
        ((0.30, 5), (0.30, 10), "stayed at 0.3"),
        ((0.30, 5), (0.35, 5), "time between readings"),
        ((0.26, -30), (0.35, 10), "not known for 30 days"),
    ],
)
def test_indices_that_give_no_rate_leave_the_variety_its_own_and_say_why(first, second, why):
    lot = _hop_lot()
    _analysed(lot, 0.08)
    for value, days in (first, second):
        _index(lot, value, make.RECEIVED_ON + timedelta(days=days))
    found = _alpha(lot)
    assert found.alpha == _aged(0.08)
    assert why in _notes(found)


def test_a_superseded_index_gives_no_rate_and_no_grade():
    lot = _hop_lot()
    wrong = _index(lot, 0.55, make.RECEIVED_ON)
    _index(lot, 0.27, make.RECEIVED_ON, supersedes=wrong)
    index = hop_lives([lot.pk]).indices[lot.pk]
    assert (index.grade, index.rate) == (StorageGrade.FRESH, None)


def test_methods_are_not_mixed_without_a_note():
    lot = _hop_lot()
    _analysed(lot, 0.09, sampled_on=make.RECEIVED_ON, method="conductometric")
    assert "Two methods" not in _notes(_alpha(lot))
    _analysed(lot, 0.08, method="hplc")
    found = _alpha(lot)
    assert found.method == "hplc"
    assert "Method: HPLC; of the reading before it: Conductometric." in _notes(found)


def test_a_correction_by_another_method_says_so_and_one_by_the_same_does_not():
    lot = _hop_lot()
    wrong = _analysed(lot, 0.19, method="spectrophotometric")
    again = _analysed(lot, 0.09, method="hplc", supersedes=wrong)
    assert "Spectrophotometric" in _notes(_alpha(lot))
    _analysed(lot, 0.085, method="hplc", supersedes=again)
    assert "Two methods" not in _notes(_alpha(lot))


def test_a_lot_has_its_own_form_or_that_of_its_item():
    usual, own = _hop_lot("A"), _hop_lot("B", form="cone")
    lives = hop_lives([usual.pk, own.pk])
    assert (lives.form(usual.pk), lives.form(own.pk)) == ("pellet", "cone")
    assert lives.reference_form(own.pk) == "pellet"
    assert _alpha(own).form == "cone"


def test_a_lot_that_goes_on_from_another_has_aged_as_that_one_did():
    old = _hop_lot("OLD", packing="loose")
    _analysed(old, 0.08)
    new = _hop_lot("NEW", packing="barrier", received_on=date(2026, 2, 4))
    Lot.objects.filter(pk=new.pk).update(from_lot=old)
    cold, shelf = STORED
    lain = (replace(cold, days=20), replace(cold, days=40, storage_factor=0.5), shelf)
    assert _alpha(new).alpha == _aged(0.08, lain)
    _analysed(old, 0.05, sampled_on=date(2026, 2, 20))
    assert _alpha(new).alpha == _aged(0.08, lain)
    assert _alpha(old).alpha < 0.05


@given(
    readings=st.lists(st.tuples(st.floats(0.2, 1.9), st.integers(-60, 50)), max_size=3),
    at_harvest=st.booleans(),
    days=st.tuples(st.integers(0, 200), st.integers(0, 200)),
)
@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_whatever_was_read_a_later_day_never_has_more_alpha(readings, at_harvest, days):
    lot = _hop_lot(make.key().upper())
    _analysed(lot, 0.08, sampled_on=make.RECEIVED_ON, at_harvest=at_harvest)
    for value, after in readings:
        _index(lot, value, make.RECEIVED_ON + timedelta(days=after))
    sooner, later = (PACK_ON + timedelta(days=after) for after in sorted(days))
    first, second = (_alpha(lot, brew_on=day).alpha for day in (sooner, later))
    assert second <= first <= 0.08
