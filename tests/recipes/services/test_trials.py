"""Recording trial batches, putting them right, and taking over what they showed."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from boxwort.accounts.models import History
from boxwort.errors import Refusal
from inventory.models import LotStock
from inventory.queries.verify import stock_differences
from inventory.services.conversions import Used
from recipes.brewing.roles import MethodKind
from recipes.models import Revision, RevisionState, TrialBatch
from recipes.queries.calibrations import Wanted
from recipes.queries.figures import method_figures
from recipes.queries.trial_stock import trial_stock
from recipes.services.methods import write_method
from recipes.services.trials import (
    accept_calibration,
    correct_trial,
    give_trial_stock_back,
    measure_final_gravity,
    take_trial_stock,
)
from tests import make as stock
from tests.recipes import make
from tests.recipes.make import Catalogue
from tests.recipes.trials import litres, method_of, quantities, recorded, weak_og

pytestmark = pytest.mark.django_db

EFFICIENCY = Wanted(efficiency=True, attenuation=False)


@pytest.fixture
def goods() -> Catalogue:
    return make.catalogue()


@pytest.fixture
def revision(goods: Catalogue) -> Revision:
    return make.pale_ale(goods)


def _accepted(trial: TrialBatch, wanted: Wanted) -> Revision:
    return accept_calibration(
        by=make.developer(), trial=trial, expected=trial.version, wanted=wanted
    )


def test_a_trial_is_kept_with_the_method_as_it_was_brewed(goods, revision):
    method = method_of(revision)
    trial = recorded(method, note="windy")
    facts = make.method_facts(MethodKind.ALL_GRAIN)
    revision.refresh_from_db()
    write_method(by=make.developer(), revision=revision, facts=facts, lines=[])
    trial.refresh_from_db()
    assert len(trial.content["lines"]) == 5
    assert (trial.recorded_by, trial.note) == (make.developer(), "windy")
    written = History.objects.get(action="record-trial")
    assert written.after["measured_volume"] == 20_000_000


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({"measured_og": 0.999}, "gravity-impossible"),
        ({"measured_og": 1.2}, "gravity-impossible"),
        ({"measured_fg": 1.06}, "gravity-impossible"),
        ({"measured_fg": 0.97}, "gravity-impossible"),
        ({"measured_volume": 0}, "quantity-not-positive"),
        ({"code": "trial 1"}, "code-not-valid"),
        ({"note": "x" * 401}, "text-too-long"),
        ({"brewed_on": timezone.localdate() + timedelta(days=1)}, "date-to-come"),
    ],
)
def test_a_trial_that_cannot_be_is_refused(revision, facts: dict[str, Any], code: str):
    with pytest.raises(Refusal) as refused:
        recorded(method_of(revision), **facts)
    assert refused.value.code == code
    assert not TrialBatch.objects.exists()


def test_a_code_names_one_trial(revision):
    recorded(method_of(revision))
    with pytest.raises(Refusal) as refused:
        recorded(method_of(revision))
    assert refused.value.code == "trial-code-taken"


def test_the_final_gravity_follows_once(revision):
    trial = recorded(method_of(revision), measured_fg=None)
    measure_final_gravity(by=make.developer(), trial=trial, fg=1.012, expected=1)
    trial.refresh_from_db()
    assert (trial.measured_fg, trial.version) == (1.012, 2)
    with pytest.raises(Refusal) as refused:
        measure_final_gravity(by=make.developer(), trial=trial, fg=1.010, expected=2)
    assert refused.value.code == "trial-measured"


def test_a_wrong_trial_is_put_right_and_what_it_said_is_kept(revision):
    trial = recorded(method_of(revision), measured_og=1.06)
    said = {
        "brewed_on": trial.brewed_on,
        "measured_og": 1.05,
        "measured_volume": litres(19),
        "measured_fg": trial.measured_fg,
    }
    correct_trial(by=make.developer(), trial=trial, expected=1, **said)
    written = History.objects.get(action="correct-trial")
    assert (written.before["measured_og"], written.after["measured_og"]) == (1.06, 1.05)
    stale = TrialBatch.objects.get()
    with pytest.raises(Refusal) as refused:
        correct_trial(by=make.developer(), trial=stale, expected=1, **said)
    assert refused.value.code == "changed-by-someone-else"


def test_the_efficiency_that_a_trial_showed_makes_a_draft_of_its_own(goods, revision):
    method = method_of(revision)
    trial = recorded(method, measured_og=weak_og(method, 0.9))
    new = _accepted(trial, EFFICIENCY)
    calibrated = method_of(new)
    assert (new.number, new.state) == (2, RevisionState.DRAFT)
    assert calibrated.mash_efficiency == pytest.approx(0.75 * 0.9)
    assert calibrated.attenuation is None
    assert "mash efficiency" in new.reason
    assert "TRIAL-1" in new.reason
    assert quantities(calibrated) == quantities(method)
    assert method_figures(calibrated.pk).og.value == pytest.approx(trial.measured_og)
    trial.refresh_from_db()
    assert trial.accepted_revision == new
    method.refresh_from_db()
    assert method.mash_efficiency == 0.75


def test_amounts_are_scaled_so_that_the_original_gravity_and_bitterness_stay(revision):
    method = method_of(revision)
    trial = recorded(method, measured_og=weak_og(method, 0.9))
    wanted = Wanted(efficiency=True, attenuation=True, rescale=True)
    calibrated = method_of(_accepted(trial, wanted))
    before, after = method_figures(method.pk), method_figures(calibrated.pk)
    assert after.og.value == pytest.approx(before.og.value, abs=1e-6)
    assert after.ibu.value == pytest.approx(before.ibu.value, abs=1e-3)
    assert quantities(calibrated)["PALE"] == [round(4_400_000_000 / 0.9 / 1000)]
    assert quantities(calibrated)["AROMA"] == quantities(method)["AROMA"]


def test_the_attenuation_of_an_extract_brew_is_taken_over(revision):
    method = method_of(revision, MethodKind.EXTRACT)
    trial = recorded(method, measured_fg=1.010)
    calibrated = method_of(_accepted(trial, Wanted(efficiency=False)), MethodKind.EXTRACT)
    assert calibrated.attenuation is not None
    assert calibrated.attenuation > 0.76
    assert method_figures(calibrated.pk).fg.value == pytest.approx(1.010, abs=1e-6)


@pytest.mark.parametrize(
    ("kind", "wanted", "code"),
    [
        (MethodKind.ALL_GRAIN, Wanted(), "final-gravity-missing"),
        (MethodKind.EXTRACT, EFFICIENCY, "efficiency-not-shown"),
        (MethodKind.ALL_GRAIN, Wanted(efficiency=False, attenuation=False), "nothing-to-take-over"),
    ],
)
def test_what_a_trial_does_not_show_is_not_taken_over(revision, kind, wanted, code):
    trial = recorded(method_of(revision, kind), measured_fg=None)
    with pytest.raises(Refusal) as refused:
        _accepted(trial, wanted)
    assert refused.value.code == code
    assert Revision.objects.count() == 1


def test_efficiency_alone_needs_no_final_gravity(revision):
    trial = recorded(method_of(revision), measured_fg=None)
    assert _accepted(trial, EFFICIENCY).number == 2


def test_readings_that_no_mash_gives_are_refused_in_words(revision):
    method = method_of(revision)
    trial = recorded(method, measured_og=weak_og(method, 1.5))
    with pytest.raises(Refusal) as refused:
        _accepted(trial, EFFICIENCY)
    assert refused.value.code == "readings-impossible"
    assert "hydrometer" in refused.value.what


def test_several_trials_count_as_their_mean_and_all_name_the_revision(revision):
    method = method_of(revision)
    recorded(method, "TRIAL-1", measured_og=weak_og(method, 0.9))
    last = recorded(method, "TRIAL-2", measured_og=weak_og(method, 0.8))
    new = _accepted(last, Wanted(attenuation=False, pooled=True))
    assert method_of(new).mash_efficiency == pytest.approx(0.75 * 0.85)
    assert "2 trials up to TRIAL-2" in new.reason
    assert set(TrialBatch.objects.values_list("accepted_revision", flat=True)) == {new.pk}


def test_a_trial_of_an_offered_revision_starts_from_that_one_and_leaves_it(goods, revision):
    offered = make.offered(revision)
    trial = recorded(method_of(offered))
    newer = _accepted(trial, EFFICIENCY)
    method = method_of(newer)
    facts = make.method_facts(MethodKind.ALL_GRAIN, mash_efficiency=0.5)
    write_method(by=make.developer(), revision=newer, facts=facts, lines=[])
    trial.refresh_from_db()
    third = _accepted(trial, EFFICIENCY)
    assert (third.number, method_of(third).mash_efficiency) == (3, pytest.approx(0.75))
    assert quantities(method_of(third)) == quantities(method_of(offered))
    assert quantities(method) == {}
    assert Revision.objects.get(pk=offered.pk).content_hash == offered.content_hash


def test_a_trial_that_changed_meanwhile_is_not_accepted(revision):
    trial = recorded(method_of(revision), measured_fg=None)
    measure_final_gravity(by=make.developer(), trial=trial, fg=1.012, expected=1)
    with pytest.raises(Refusal) as refused:
        accept_calibration(by=make.developer(), trial=trial, expected=1, wanted=EFFICIENCY)
    assert refused.value.code == "changed-by-someone-else"
    assert Revision.objects.count() == 1


def test_a_trial_that_was_taken_over_is_not_rewritten(revision):
    trial = recorded(method_of(revision))
    _accepted(trial, EFFICIENCY)
    with pytest.raises(Refusal) as refused:
        correct_trial(
            by=make.developer(),
            trial=trial,
            expected=trial.version,
            brewed_on=trial.brewed_on,
            measured_og=1.05,
            measured_volume=litres(19),
        )
    assert refused.value.code == "trial-accepted"


def test_a_trial_takes_its_stock_and_gives_it_back(goods, revision):
    lot = stock.lot(item=goods.pale_malt, code="PALE-1", quantity=10_000_000)
    trial = recorded(method_of(revision))
    used = [Used(line="malt-1", lot_id=lot.pk, quantity=4_400_000)]
    take_trial_stock(by=make.developer(), trial=trial, used=used, expected=1, key="take")
    trial.refresh_from_db()
    assert LotStock.objects.get(lot=lot).on_hand == 5_600_000
    assert trial.conversion is not None
    assert trial.conversion.postings.get().reason == "Trial TRIAL-1"
    assert stock_differences() == []
    with pytest.raises(Refusal) as refused:
        take_trial_stock(by=make.developer(), trial=trial, used=used, expected=2, key="again")
    assert refused.value.code == "trial-stock-taken"
    give_trial_stock_back(
        by=make.developer(), trial=trial, expected=2, key="back", reason="other lot"
    )
    assert LotStock.objects.get(lot=lot).on_hand == 10_000_000
    assert TrialBatch.objects.get().conversion is None
    assert stock_differences() == []
    take_trial_stock(by=make.developer(), trial=trial, used=used, expected=3, key="right")
    assert LotStock.objects.get(lot=lot).on_hand == 5_600_000


def test_stock_that_is_not_there_is_not_taken_and_the_trial_stays(goods, revision):
    lot = stock.lot(item=goods.pale_malt, code="PALE-1", quantity=1_000_000)
    trial = recorded(method_of(revision))
    used = [Used(line="malt-1", lot_id=lot.pk, quantity=4_400_000)]
    with pytest.raises(Refusal) as refused:
        take_trial_stock(by=make.developer(), trial=trial, used=used, expected=1, key="take")
    assert refused.value.code == "not-enough-on-hand"
    assert TrialBatch.objects.get().version == 1


def test_lots_are_proposed_first_expired_first_and_never_twice(goods, revision):
    early, late = stock.BEST_BEFORE_ON, stock.BEST_BEFORE_ON + timedelta(days=30)
    stock.lot(item=goods.aroma, code="LATE", quantity=100_000, best_before_on=late)
    stock.lot(item=goods.aroma, code="EARLY", quantity=35_000, best_before_on=early)
    rows = [row for row in trial_stock(recorded(method_of(revision))) if row.item_code == "AROMA"]
    proposed = [{each.lot.code: each.proposed for each in row.offers} for row in rows]
    assert [row.wanted for row in rows] == [20_000, 30_000]
    assert proposed == [{"EARLY": 20_000, "LATE": 0}, {"EARLY": 15_000, "LATE": 15_000}]
    assert [row.short for row in rows] == [0, 0]


def test_only_the_usual_yeast_is_proposed(goods, revision):
    for item in (goods.ale_yeast, goods.dry_ale_yeast):
        stock.lot(item=item, code=f"{item.code}-1", quantity=9)
    rows = {row.item_code: row for row in trial_stock(recorded(method_of(revision)))}
    assert rows["ALE"].offers[0].proposed == rows["ALE"].wanted > 0
    assert (rows["DRY-ALE"].wanted, rows["DRY-ALE"].offers[0].proposed) == (0, 0)
    assert rows["PALE"].short == rows["PALE"].wanted
