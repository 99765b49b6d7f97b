"""How a person visits the pages of the stock and recipe rooms."""

from __future__ import annotations

import uuid
from typing import Any

from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse


def read(browser: Client, name: str, *args: object, expect: int = 200, **query: Any) -> str:
    """Return a page as it reads, no-break spaces as plain ones."""
    answer = browser.get(reverse(name, args=args), query)
    assert answer.status_code == expect, answer.content.decode()
    return words_of(answer)


def send(
    browser: Client, name: str, /, *args: object, key: str = "", query: str = "", **fields: Any
) -> HttpResponse:
    """Send a form with a new request key, or with the one given."""
    filled = {"request_key": key or str(uuid.uuid4()), **fields}
    return browser.post(reverse(name, args=args) + query, filled)


def words_of(answer: HttpResponse) -> str:
    """Return what an answer says, no-break spaces as plain ones."""
    return answer.content.decode().replace("\N{NO-BREAK SPACE}", " ").replace("&nbsp;", " ")


def statements(browser: Client, name: str, *args: object) -> int:
    """Return how many SQL statements a page takes."""
    with CaptureQueriesContext(connection) as asked:
        read(browser, name, *args)
    return len(asked)
