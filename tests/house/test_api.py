"""The API describes itself whole, and as the description kept beside this test says."""

from __future__ import annotations

import json
from http import HTTPMethod
from pathlib import Path
from typing import Any

import pytest
import yaml
from django.core.management import call_command
from django.test import Client

from boxwort.web.keys import HEADER
from boxwort.web.operations_api import Act
from tests.house.walk import PUBLIC, Door, doors

KEPT = Path(__file__).with_name("openapi.yaml")
RENEW = f"manage.py spectacular --validate --fail-on-warn --file tests/house/{KEPT.name}"
OPERATIONS = [
    pytest.param(operation, id=operation["operationId"])
    for path in yaml.safe_load(KEPT.read_text())["paths"].values()
    for method, operation in path.items()
    if method.upper() in HTTPMethod.__members__
]
OF_API = [door for door in doors() if door.is_api]
ACTS = [door for door in OF_API if issubclass(door.view.cls, Act)]


def test_the_description_kept_is_the_one_the_api_gives(tmp_path: Path) -> None:
    given = tmp_path / "openapi.yaml"
    call_command("spectacular", "--validate", "--fail-on-warn", "--file", str(given))
    assert given.read_text() == KEPT.read_text(), (
        f"The API changed. If that is meant, renew its description with: {RENEW}"
    )


@pytest.mark.parametrize("operation", OPERATIONS)
def test_an_operation_is_described(operation: dict[str, Any]) -> None:
    assert operation["summary"]
    assert operation["tags"]
    assert operation["description"]
    problems = {
        status: answer["content"]
        for status, answer in operation["responses"].items()
        if int(status) >= 400
    }
    assert problems
    assert all(list(content) == ["application/problem+json"] for content in problems.values())


@pytest.mark.parametrize("operation", OPERATIONS)
def test_an_operation_that_acts_needs_a_request_key(operation: dict[str, Any]) -> None:
    headers = {each["name"] for each in operation.get("parameters", ()) if each["in"] == "header"}
    acts = {act.view.cls.name for act in ACTS}
    assert (HEADER in headers) == (operation["operationId"] in acts)


def test_an_operation_is_named_once() -> None:
    names = [each.id for each in OPERATIONS]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("door", OF_API, ids=lambda door: door.name)
def test_a_door_of_the_api_is_named_as_one(door: Door) -> None:
    assert door.name.startswith("api-")


@pytest.mark.parametrize("door", ACTS, ids=lambda door: door.name)
@pytest.mark.parametrize("body", ["[]", "{", "7", '"text"'])
def test_a_body_that_is_no_object_is_refused(owner: Client, door: Door, body: str) -> None:
    answer = owner.post(door.url, body, content_type="application/json", headers={HEADER: "a key"})
    assert answer.status_code == 400
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert json.loads(answer.content)["remedy"]


def test_everything_that_writes_is_an_act_but_signing_in() -> None:
    writing = {door.name for door in OF_API if set(door.rights) - {"GET"}}
    assert writing - {door.name for door in ACTS} == {"api-token"}
    assert "api-token" in PUBLIC
