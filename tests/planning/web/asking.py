"""How a person asks at a door: read a page, send a form with its request key."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from typing import Any

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

HTMX = {"HX-Request": "true"}


def text_of(browser: Client, name: str, *args: object, **headers: str) -> str:
    """Return the text of a page that must be there."""
    answer = browser.get(reverse(name, args=args), headers=headers)
    assert answer.status_code == 200, answer.content.decode()
    return answer.content.decode()


def send(
    browser: Client, name: str, *args: object, form: Mapping[str, Any] | None = None, key: str = ""
) -> Any:
    """Send a form with a request key of its own, or the one given."""
    filled = {"request_key": key or str(uuid.uuid4()), **(form or {})}
    return browser.post(reverse(name, args=args), filled)


def statements(browser: Client, name: str, *args: object) -> int:
    """Return how many SQL statements a page takes."""
    with CaptureQueriesContext(connection) as asked:
        text_of(browser, name, *args)
    return len(asked)
