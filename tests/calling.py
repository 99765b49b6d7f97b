"""How a program calls the API: with a person's token, JSON, and a request key for what it does."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from typing import Any

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from boxwort.accounts.tokens import standing_token
from boxwort.roles import Role
from tests.make import user


class Program:
    """A program that signs in with the token of somebody of a role."""

    def __init__(self, role: Role = Role.OWNER) -> None:
        self.client = Client(headers={"Authorization": f"Token {standing_token(by=user(role))}"})

    def get(self, name: str, *args: object, **query: Any) -> Any:
        """Return the whole answer to a reading."""
        return self.client.get(reverse(name, args=args), query)

    def read(self, name: str, *args: object, **query: Any) -> Any:
        """Return what is read, which must be there."""
        answer = self.get(name, *args, **query)
        assert answer.status_code == 200, answer.content
        return answer.json()

    def post(
        self, name: str, *args: object, body: Mapping[str, Any] | None = None, key: str = "new"
    ) -> Any:
        """Return the whole answer to an act, with a request key of its own or the one given."""
        headers = {"Idempotency-Key": str(uuid.uuid4()) if key == "new" else key} if key else {}
        return self.client.post(
            reverse(name, args=args), body or {}, content_type="application/json", headers=headers
        )

    def does(self, name: str, *args: object, body: Mapping[str, Any] | None = None) -> Any:
        """Return the answer of an act, which must be done."""
        answer = self.post(name, *args, body=body)
        assert answer.status_code in {200, 201, 202}, answer.content
        return answer.json()

    def statements(self, name: str, *args: object, **query: Any) -> int:
        """Return how many SQL statements a reading takes."""
        with CaptureQueriesContext(connection) as asked:
            self.read(name, *args, **query)
        return len(asked)


def problem(answer: Any, status: int, code: str) -> dict[str, Any]:
    """Return the problem document of an answer, which must have this status and code."""
    assert answer.headers["Content-Type"] == "application/problem+json", answer.content
    told: dict[str, Any] = answer.json()
    assert (answer.status_code, told["status"], told["code"]) == (status, status, code), told
    assert told["remedy"]
    return told


def pointers(answer: Any) -> set[str]:
    """Return the fields that an answer refuses."""
    return {each["pointer"] for each in problem(answer, 400, "fields-refused")["errors"]}


def done_once(program: Program, name: str, *args: object, body: Mapping[str, Any]) -> Any:
    """Do an act with one key thrice: it is done once, and another body is refused."""
    first = program.post(name, *args, body=body, key="the-same")
    again = program.post(name, *args, body=body, key="the-same")
    assert first.status_code in {200, 201, 202}, first.content
    assert (again.status_code, again.json()) == (first.status_code, first.json())
    problem(
        program.post(name, *args, body={**body, "more": "than before"}, key="the-same"),
        422,
        "key-used-for-another-request",
    )
    return first.json()
