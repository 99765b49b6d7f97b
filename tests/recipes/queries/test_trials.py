"""A trial beside its prediction, and what taking its calibration over would do."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from boxwort.errors import Refusal
from recipes.brewing.roles import MethodKind
from recipes.models import Revision, TrialBatch
from recipes.queries.calibrations import Taken, Wanted, calibration_of, effect_of
from recipes.queries.trials import TrialDetail, trial_detail, trial_in_full, trial_rows
from recipes.services.methods import write_method
from tests.recipes import make
from tests.recipes.trials import litres, method_of, recorded, weak_og

pytestmark = pytest.mark.django_db


@pytest.fixture
def revision() -> Revision:
    return make.pale_ale(make.catalogue())


def _detail(trial: TrialBatch) -> TrialDetail:
    return trial_detail(trial_in_full(trial.pk))


def test_a_trial_as_predicted_differs_in_nothing(revision):
    detail = _detail(recorded(method_of(revision)))
    assert [row.difference for row in detail.compared] == pytest.approx([0, 0, 0], abs=1e-9)
    assert detail.calibration is not None
    assert detail.calibration.mash_efficiency == pytest.approx(0.75)
    assert detail.calibration.attenuation == pytest.approx(0.76)


def test_what_was_not_measured_has_no_difference(revision):
    detail = _detail(recorded(method_of(revision), measured_fg=None))
    assert [row.measured for row in detail.compared][1:] == [None, None]
    assert detail.compared[1].difference is None
    assert detail.abv is None


def test_more_wort_explains_a_low_gravity_and_the_mash_is_not_blamed(revision):
    """The planned extract in a tenth more wort: a tenth fewer points, the same efficiency."""
    method = method_of(revision)
    trial = recorded(
        method, measured_og=weak_og(method, 1 / 1.1), measured_volume=litres(22), measured_fg=None
    )
    detail = _detail(trial)
    assert detail.calibration is not None
    assert detail.calibration.mash_efficiency == pytest.approx(0.75)
    assert detail.explained[0].startswith("2.0 L more wort than planned")
    assert f"{trial.measured_og:.3f}" in detail.explained[0]
    assert "+0.000" not in " ".join(detail.explained)


def test_a_poor_mash_is_explained_by_its_efficiency(revision):
    method = method_of(revision)
    detail = _detail(recorded(method, measured_og=weak_og(method, 0.9)))
    (mash, yeast) = detail.explained
    assert "67.5" in mash
    assert "\N{MINUS SIGN}0.005" in mash
    assert "The yeast attenuated" in yeast


def test_a_later_change_of_the_draft_does_not_move_the_prediction(revision):
    method = method_of(revision)
    trial = recorded(method)
    before = _detail(trial).compared
    revision.refresh_from_db()
    facts = make.method_facts(MethodKind.ALL_GRAIN, mash_efficiency=0.5)
    write_method(by=make.developer(), revision=revision, facts=facts, lines=[])
    assert _detail(trial).compared == before


def test_readings_that_cannot_be_leave_the_trial_as_a_record(revision):
    method = method_of(revision)
    detail = _detail(recorded(method, measured_og=weak_og(method, 1.5)))
    assert detail.calibration is None
    assert "hydrometer" in detail.problem
    assert detail.compared


def test_a_trial_that_cannot_be_is_left_out_of_the_mean_and_named(revision):
    method = method_of(revision)
    good = recorded(method, "GOOD")
    recorded(method, "BAD", measured_og=weak_og(method, 1.5))
    shown = calibration_of(good, all_of_method=True)
    assert shown.codes == ("GOOD",)
    assert "BAD" in shown.left_out[0]


def test_the_effect_is_shown_for_the_method_and_beside_its_twin(revision):
    method = method_of(revision)
    trial = recorded(method, measured_og=weak_og(method, 0.9))
    kept = effect_of(trial, Taken(efficiency=0.675, attenuation=None), rescale=False)
    assert kept.after.og.value == pytest.approx(trial.measured_og)
    assert kept.lines == ()
    (twin,) = kept.twins
    assert twin.label == "Extract with steeped grain"
    assert twin.before is not None
    assert twin.after is not None
    assert twin.before.holds
    assert not twin.after.row("og").within
    scaled = effect_of(trial, Taken(efficiency=0.675, attenuation=None), rescale=True)
    assert scaled.after.og.value == pytest.approx(kept.before.og.value, abs=1e-6)
    assert [line.name for line in scaled.lines] == ["Pale", "Crystal"]
    assert scaled.twins[0].after is not None
    assert scaled.twins[0].after.row("og").within


def test_scaling_needs_an_efficiency_to_scale_by(revision):
    trial = recorded(method_of(revision))
    effect = effect_of(trial, Taken(efficiency=None, attenuation=0.8), rescale=True)
    assert effect.lines == ()
    assert effect.after.fg.value < effect.before.fg.value


def test_nothing_chosen_is_nothing_to_take_over(revision):
    shown = calibration_of(recorded(method_of(revision)))
    with pytest.raises(Refusal) as refused:
        shown.taken(Wanted(efficiency=False, attenuation=False))
    assert refused.value.code == "nothing-to-take-over"


def test_the_list_takes_one_statement(revision):
    for number in range(5):
        recorded(method_of(revision), f"TRIAL-{number}")
    with CaptureQueriesContext(connection) as asked:
        rows = trial_rows(recipe_code="PALE-ALE")
    assert (len(rows), len(asked)) == (5, 1)
    assert trial_rows(recipe_code="OTHER") == []
    extract = method_of(revision, MethodKind.EXTRACT)
    assert trial_rows(method_id=extract.pk) == []
