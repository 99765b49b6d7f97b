"""Recipes begun, and revisions started, offered and retired over the API."""

from __future__ import annotations

import pytest

from boxwort.roles import Role
from recipes.models import Recipe, Revision, RevisionState
from tests.calling import Program, done_once, problem
from tests.recipes.make import catalogue, draft, pale_ale


@pytest.fixture
def developer(db: None) -> Program:
    return Program(Role.DEVELOPER)


@pytest.fixture
def revision(db: None) -> Revision:
    return pale_ale(catalogue())


def test_a_recipe_is_begun_once_with_a_draft(developer: Program) -> None:
    asked = {"code": "NEW-ALE", "name": "New ale", "style": "Golden ale"}
    told = done_once(developer, "api-recipe-list", body=asked)
    assert told["recipe"]["code"] == "NEW-ALE"
    assert told["revision"]["state"] == RevisionState.DRAFT
    assert Recipe.objects.get().style == "Golden ale"


def test_a_code_that_is_taken_is_refused(developer: Program, revision: Revision) -> None:
    asked = {"code": "PALE-ALE", "name": "Other"}
    answer = developer.post("api-recipe-list", body=asked)
    problem(answer, 422, "recipe-code-taken")


def test_a_revision_is_offered_and_retired_and_the_next_is_started(
    developer: Program, revision: Revision
) -> None:
    for act, state in (("offer", "offered"), ("retire", "retired")):
        revision.refresh_from_db()
        body = {"version": revision.version}
        told = developer.does(f"api-revision-{act}", "PALE-ALE", 1, body=body)
        assert told["revision"]["state"] == state
    reason = {"reason": "Less crystal"}
    told = done_once(developer, "api-revision-start", "PALE-ALE", body=reason)
    assert (told["revision"]["number"], told["revision"]["state"]) == (2, "draft")
    assert len(told["methods"]) == 2


def test_what_stands_in_the_way_of_offering_is_told(developer: Program, db: None) -> None:
    revision = draft()
    body = {"version": revision.version}
    answer = developer.post("api-revision-offer", "PALE-ALE", 1, body=body)
    problem(answer, 422, "method-missing")


def test_another_version_is_refused(developer: Program, revision: Revision) -> None:
    body = {"version": revision.version + 1}
    answer = developer.post("api-revision-offer", "PALE-ALE", 1, body=body)
    problem(answer, 409, "changed-by-someone-else")


@pytest.mark.parametrize("act", ["offer", "retire"])
def test_a_revision_that_is_not_there_is_not_found(
    developer: Program, revision: Revision, act: str
) -> None:
    body = {"version": 1}
    assert developer.post(f"api-revision-{act}", "PALE-ALE", 9, body=body).status_code == 404


def test_a_recipe_that_is_not_there_gets_no_revision(developer: Program) -> None:
    body = {"reason": "None"}
    assert developer.post("api-revision-start", "NOTHING", body=body).status_code == 404
