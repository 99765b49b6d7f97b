"""Trial batches over the API: recorded once, measured, and taken over."""

from __future__ import annotations

from typing import Any

import pytest

from boxwort.roles import Role
from recipes.models import Method, Revision, TrialBatch
from tests.calling import Program, done_once, pointers, problem
from tests.recipes.make import catalogue, pale_ale
from tests.recipes.trials import method_of, recorded, weak_og


@pytest.fixture
def developer(db: None) -> Program:
    return Program(Role.DEVELOPER)


@pytest.fixture
def method(db: None) -> Method:
    return method_of(pale_ale(catalogue()))


def _asked(method: Method, **facts: Any) -> dict[str, Any]:
    return {
        "code": "TRIAL-1",
        "method": method.pk,
        "brewed_on": "2026-03-02",
        "measured_og": 1.048,
        "measured_volume": {"amount": "5.2", "unit": "US gal"},
        **facts,
    }


def test_a_trial_is_recorded_once(developer: Program, method: Method) -> None:
    told = done_once(developer, "api-trial-list", body=_asked(method))
    assert told["trial"]["measured_volume"]["quantity"] == 19_684_141
    assert told["compared"][0]["difference"] == pytest.approx(1.048 - told["trial"]["predicted_og"])
    assert told["calibration"]["attenuation"] is None
    assert [figure["name"] for figure in told["calibration"]["workings"]] == [
        "Mash efficiency",
        "Volume of wort",
    ]
    assert TrialBatch.objects.count() == 1


def test_what_cannot_be_a_trial_is_refused_field_by_field(
    developer: Program, method: Method
) -> None:
    wrong = _asked(method, measured_og=2.0, measured_volume={"amount": "5", "unit": "kg"})
    assert "#/measured_og" in pointers(developer.post("api-trial-list", body=wrong))
    wrong = _asked(method, measured_volume={"amount": "5", "unit": "kg"})
    assert pointers(developer.post("api-trial-list", body=wrong)) == {"#/measured_volume/unit"}


def test_trials_are_listed_by_recipe_in_as_many_statements_whatever_their_number(
    viewer: Program, method: Method
) -> None:
    recorded(method)
    [row] = viewer.read("api-trial-list", recipe="PALE-ALE")["results"]
    assert (row["code"], row["method_id"]) == ("TRIAL-1", method.pk)
    assert viewer.read("api-trial-list", recipe="OTHER")["count"] == 0
    one = viewer.statements("api-trial-list")
    for number in range(2, 12):
        recorded(method, f"TRIAL-{number}")
    assert viewer.statements("api-trial-list") == one


def test_its_final_gravity_follows_and_its_calibration_is_taken_over(
    developer: Program, method: Method
) -> None:
    trial = recorded(method, measured_og=weak_og(method, 0.9), measured_fg=None)
    refused = developer.post("api-trial-accept", trial.pk, body={"version": 1})
    problem(refused, 422, "final-gravity-missing")
    body = {"fg": 1.012, "version": 1}
    told = developer.does("api-trial-final-gravity", trial.pk, body=body)
    assert told["trial"]["measured_fg"] == 1.012
    late = developer.post("api-trial-accept", trial.pk, body={"version": 1})
    problem(late, 409, "changed-by-someone-else")
    accepted = {"version": 2, "rescale": True}
    told = done_once(developer, "api-trial-accept", trial.pk, body=accepted)
    assert (told["recipe"], told["number"]) == ("PALE-ALE", 2)
    assert Revision.objects.count() == 2
    assert developer.read("api-trial-detail", trial.pk)["trial"]["accepted_revision"] == 2


def test_only_who_writes_recipes_records_trials(viewer: Program, method: Method) -> None:
    trial = recorded(method)
    for name, ids in (
        ("api-trial-list", ()),
        ("api-trial-final-gravity", (trial.pk,)),
        ("api-trial-accept", (trial.pk,)),
    ):
        assert viewer.post(name, *ids, body={"version": 1}).status_code == 403


def test_a_trial_that_is_not_there_is_not_found(developer: Program) -> None:
    problem(developer.get("api-trial-detail", 404), 404, "not-found")
    problem(developer.post("api-trial-accept", 404, body={"version": 1}), 404, "not-found")
