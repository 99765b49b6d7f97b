"""The pages of trial batches: recorded, shown beside the prediction, taken over."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from boxwort.roles import Role
from inventory.models import LotStock
from recipes.brewing.roles import MethodKind
from recipes.models import Method, Revision, TrialBatch
from recipes.queries.trial_stock import trial_stock
from tests import make as stock
from tests.recipes.make import Catalogue, pale_ale
from tests.recipes.trials import method_of, recorded, weak_og
from tests.recipes.web.conftest import Enter
from tests.visits import read, send, statements, words_of

MEASURED = {
    "code": "RIDGE-T1",
    "brewed_on": "2026-03-02",
    "measured_og": "12.0 P",
    "measured_volume": "5.2 US gal",
    "measured_fg": "",
    "note": "",
}
ALL_OF_IT = {"of": "one", "efficiency": "on", "attenuation": "on", "amounts": "keep"}


@pytest.fixture
def method(goods: Catalogue) -> Method:
    return method_of(pale_ale(goods))


def test_the_form_proposes_a_free_code_and_the_size_of_the_method(
    designer: Client, method: Method
) -> None:
    recorded(method, "PALE-ALE-T1")
    text = read(designer, "trial-record", method.pk)
    assert 'value="PALE-ALE-T2"' in text
    assert 'value="20.00 L"' in text


def test_a_trial_is_recorded_in_the_units_of_who_brewed(designer: Client, method: Method) -> None:
    answer = send(designer, "trial-record", method.pk, **MEASURED)
    trial = TrialBatch.objects.get()
    assert answer.headers["Location"] == reverse("trial-detail", args=[trial.pk])
    assert trial.measured_og == pytest.approx(1.04837, abs=1e-5)
    assert (trial.measured_volume, trial.measured_fg) == (19_684_141, None)


def test_a_form_sent_twice_records_one_trial(designer: Client, method: Method) -> None:
    for _ in range(2):
        answer = send(designer, "trial-record", method.pk, key="the-same", **MEASURED)
        assert answer.status_code == 303
    assert TrialBatch.objects.count() == 1


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("measured_og", "heavy", "Write a gravity such as"),
        ("measured_og", "nan", "Write a gravity such as"),
        ("measured_og", "90 P", "Write a gravity such as"),
        ("measured_og", "1048", "is not that of a wort"),
        ("measured_volume", "5 kg", "does not measure that"),
        ("measured_fg", "1.2", "cannot follow"),
        ("code", "ridge 1", "cannot be the code"),
        ("brewed_on", str(timezone.localdate() + timedelta(days=2)), "has not come yet"),
    ],
)
def test_what_cannot_be_is_shown_with_what_was_typed(
    designer: Client, method: Method, field: str, typed: str, said: str
) -> None:
    answer = send(designer, "trial-record", method.pk, **{**MEASURED, field: typed})
    assert answer.status_code == 422
    assert said in words_of(answer)
    assert f'value="{typed}"' in words_of(answer)
    assert not TrialBatch.objects.exists()


def test_a_trial_shows_measured_against_predicted(viewer: Client, method: Method) -> None:
    trial = recorded(method, measured_og=weak_og(method, 0.9))
    text = read(viewer, "trial-detail", trial.pk)
    for words in (
        "1.052",
        "1.046",
        "\N{MINUS SIGN}0.005",
        "What explains it",
        "67.5 %",
        "Mash efficiency",
        "Beside the twin, extract with steeped grain",
        "no longer the same beer",
    ):
        assert words in text
    assert "Accept as a new revision" not in text


def test_what_taking_over_does_follows_what_is_chosen(designer: Client, method: Method) -> None:
    trial = recorded(method, measured_og=weak_og(method, 0.9))
    query = {"of": "one", "efficiency": "on", "amounts": "rescale"}
    text = read(designer, "trial-detail", trial.pk, **query)
    assert "4.889 kg" in text
    assert "the same beer still" in text
    assert "Accept as a new revision" in text
    text = read(designer, "trial-detail", trial.pk, of="one", amounts="keep")
    assert "Choose what the new revision takes over" in text
    assert "Accept as a new revision" not in text
    read(designer, "trial-detail", trial.pk, of="two", amounts="keep", expect=422)


def test_several_trials_are_pooled_unless_one_is_chosen(viewer: Client, method: Method) -> None:
    trial = recorded(method, "ONE", measured_og=weak_og(method, 0.9))
    recorded(method, "TWO", measured_og=weak_og(method, 0.8))
    text = read(viewer, "trial-detail", trial.pk)
    assert "63.75 %" in text
    assert "Trials: ONE, TWO." in text
    assert "63.75 %" not in read(viewer, "trial-detail", trial.pk, **ALL_OF_IT)


def test_a_calibration_is_taken_over_once(designer: Client, method: Method) -> None:
    trial = recorded(method, measured_og=weak_og(method, 0.9))
    for _ in range(2):
        answer = send(designer, "trial-accept", trial.pk, key="same", version=1, **ALL_OF_IT)
        assert answer.headers["Location"] == reverse("recipe-revision", args=["PALE-ALE", 2])
    assert Revision.objects.count() == 2
    assert "revision 2" in read(designer, "trial-detail", trial.pk)


def test_an_attenuation_without_final_gravity_is_refused_on_the_page(
    designer: Client, method: Method
) -> None:
    trial = recorded(method, measured_fg=None)
    answer = send(designer, "trial-accept", trial.pk, version=1, **ALL_OF_IT)
    assert answer.status_code == 422
    assert "No final gravity was measured" in words_of(answer)
    stale = send(designer, "trial-accept", trial.pk, version=9, **ALL_OF_IT)
    assert stale.status_code == 409
    assert Revision.objects.count() == 1


def test_the_final_gravity_is_written_down_later(designer: Client, method: Method) -> None:
    trial = recorded(method, measured_fg=None)
    assert "Write down the final gravity" in read(designer, "trial-detail", trial.pk)
    assert "1.052" in read(designer, "trial-final-gravity", trial.pk)
    send(designer, "trial-final-gravity", trial.pk, fg="3.1 P", version=1)
    assert TrialBatch.objects.get().measured_fg == pytest.approx(1.0122, abs=1e-4)
    assert "Write down the final gravity" not in read(designer, "trial-detail", trial.pk)


def test_a_wrong_trial_is_put_right(designer: Client, method: Method) -> None:
    trial = recorded(method)
    text = read(designer, "trial-correct", trial.pk)
    assert f'value="{trial.measured_og:.4f}"' in text
    said = {name: value for name, value in MEASURED.items() if name != "code"}
    send(designer, "trial-correct", trial.pk, version=1, **said)
    assert TrialBatch.objects.get().measured_volume == 19_684_141
    answer = send(designer, "trial-correct", trial.pk, version=1, **said)
    assert answer.status_code == 409


def _boxes(trial: TrialBatch) -> dict[str, Any]:
    return {
        f"{row.key}-lot-{offer.lot.lot_id}": f"{offer.proposed} mg" if offer.proposed else ""
        for row in trial_stock(trial)
        for offer in row.offers
    }


def test_the_stock_of_a_trial_is_taken_and_given_back(
    designer: Client, goods: Catalogue, method: Method
) -> None:
    lot = stock.lot(item=goods.pale_malt, code="PALE-1", quantity=10_000_000)
    trial = recorded(method)
    text = read(designer, "trial-stock-take", trial.pk)
    assert 'value="4.400 kg"' in text
    assert "No lot of it could be used that day" in text
    sent = {"version": 1, **_boxes(trial)}
    for _ in range(2):
        answer = send(designer, "trial-stock-take", trial.pk, key="same", **sent)
        assert answer.status_code == 303
    assert LotStock.objects.get(lot=lot).on_hand == 5_600_000
    assert "Give it back first" in read(designer, "trial-stock-take", trial.pk)
    read(designer, "trial-stock-back", trial.pk)
    send(designer, "trial-stock-back", trial.pk, reason="the other lot", version=2)
    assert LotStock.objects.get(lot=lot).on_hand == 10_000_000


def test_more_than_there_is_is_not_taken(
    designer: Client, goods: Catalogue, method: Method
) -> None:
    lot = stock.lot(item=goods.pale_malt, code="PALE-1", quantity=1_000_000)
    trial = recorded(method)
    sent = {"version": 1, f"malt-1-lot-{lot.pk}": "4.4 kg"}
    answer = send(designer, "trial-stock-take", trial.pk, **sent)
    assert answer.status_code == 422
    assert "is on hand" in words_of(answer)
    nothing = send(designer, "trial-stock-take", trial.pk, version=1)
    assert "Nothing was used" in words_of(nothing)


def test_an_empty_list_says_how_a_trial_begins(viewer: Client, method: Method) -> None:
    assert "No trial batch is recorded yet" in read(viewer, "trial-list", "PALE-ALE")
    read(viewer, "trial-list", "NONE", expect=404)
    read(viewer, "trial-detail", 404, expect=404)


def test_thirty_trials_are_listed_in_as_many_statements_as_three(
    viewer: Client, method: Method
) -> None:
    recorded(method)
    read(viewer, "trial-list", "PALE-ALE")
    few = statements(viewer, "trial-list", "PALE-ALE")
    for number in range(20):
        recorded(method, f"TRIAL-N{number}")
    assert statements(viewer, "trial-list", "PALE-ALE") == few


@pytest.mark.parametrize("role", [Role.VIEWER, Role.PACKER, Role.PLANNER])
def test_only_who_writes_recipes_records_trials(enter: Enter, method: Method, role: Role) -> None:
    trial, browser = recorded(method), enter(role)
    read(browser, "trial-record", method.pk, expect=403)
    for name in ("trial-final-gravity", "trial-correct", "trial-stock-take", "trial-stock-back"):
        read(browser, name, trial.pk, expect=403)
    assert send(browser, "trial-accept", trial.pk, **ALL_OF_IT).status_code == 403
    assert "Record a trial" not in read(browser, "recipe-detail", "PALE-ALE")


def test_an_extract_trial_shows_no_efficiency(designer: Client, goods: Catalogue) -> None:
    trial = recorded(method_of(pale_ale(goods), MethodKind.EXTRACT))
    text = read(designer, "trial-detail", trial.pk)
    assert "Nothing is mashed, so there is no mash efficiency" in text
    query = {"of": "one", "efficiency": "on", "amounts": "keep"}
    assert "shows no mash efficiency" in read(designer, "trial-detail", trial.pk, **query)
