"""Sending a workbook from a page, following it, and reading what came of it."""

from __future__ import annotations

import uuid
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.conf import LazySettings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook

from boxwort.jobs.models import Job
from boxwort.roles import Role
from boxwort.sheets.reading import workbook_read
from planning.services.importing import FORMS
from planning.tasks import import_workbook
from tests.make import user
from tests.planning.workbooks import Sheets, small, xlsx

pytestmark = pytest.mark.django_db


@pytest.fixture
def browser(settings: LazySettings, tmp_path: Path) -> Client:
    settings.MEDIA_ROOT = tmp_path
    signed_in = Client()
    signed_in.force_login(user())
    return signed_in


def send(browser: Client, sheets: Sheets, key: str = "") -> Any:
    file = SimpleUploadedFile("stock.xlsx", xlsx(sheets))
    asked = {"workbook": file, "request_key": key or str(uuid.uuid4())}
    return browser.post(reverse("import-new"), asked)


def text(browser: Client, address: str) -> str:
    answer = browser.get(address)
    assert answer.status_code == 200
    return answer.content.decode()


def test_the_page_says_what_a_workbook_may_hold(browser: Client) -> None:
    shown = text(browser, reverse("import-new"))
    assert "Planning alpha (%)" in shown
    assert "Extract (ppg) or Extract (L°/kg)" in shown


def test_the_workbook_to_fill_in_is_one_that_the_import_takes(browser: Client) -> None:
    blank = browser.get(reverse("import-blank"))
    assert 'filename="to-import.xlsx"' in blank.headers["Content-Disposition"]
    reading = workbook_read(blank.content, FORMS)
    assert not reading.problems
    assert reading.count == 0
    assert load_workbook(BytesIO(blank.content)).sheetnames == [form.name for form in FORMS]


def test_a_workbook_without_rows_says_that_nothing_changed(browser: Client) -> None:
    blank = browser.get(reverse("import-blank")).content
    asked = {"workbook": SimpleUploadedFile("b.xlsx", blank), "request_key": str(uuid.uuid4())}
    answer = browser.post(reverse("import-new"), asked)
    import_workbook(Job.objects.get().pk)
    assert "holds no rows, so nothing changed" in text(browser, answer.url)


def test_a_sent_workbook_is_followed_until_it_is_in_the_books(browser: Client) -> None:
    answer = send(browser, small())
    job = Job.objects.get()
    assert (answer.status_code, answer.url) == (303, reverse("import-detail", args=[job.pk]))
    assert "every 1s" in text(browser, answer.url)
    import_workbook(job.pk)
    shown = text(browser, reverse("import-progress", args=[job.pk]))
    assert "every 1s" not in shown
    assert "The whole workbook is in the books." in shown
    assert '<th scope="row">Kit parts</th>' in shown


def test_problems_are_shown_with_cell_value_and_remedy(browser: Client) -> None:
    sheets = small()
    sheets["Lots"][1]["Unit"] = "stone"
    answer = send(browser, sheets)
    import_workbook(Job.objects.get().pk)
    shown = text(browser, answer.url)
    assert "Nothing was imported: 1 problem." in shown
    for words in ("D3", "stone", "This is not a unit.", "Use one of mg, g, kg"):
        assert words in shown
    assert "1" in text(browser, reverse("job-detail", args=[Job.objects.get().pk]))


def test_a_form_sent_twice_is_imported_once(browser: Client) -> None:
    first, again = (send(browser, small(), key="one") for _ in range(2))
    assert first.url == again.url
    assert Job.objects.count() == 1


def test_something_else_than_a_workbook_is_refused_at_once(browser: Client) -> None:
    asked = {"workbook": SimpleUploadedFile("a.xlsx", b"Dear all"), "request_key": "one"}
    answer = browser.post(reverse("import-new"), asked)
    assert answer.status_code == 422
    assert "not an xlsx workbook" in answer.content.decode()
    assert not Job.objects.exists()
    assert browser.post(reverse("import-new"), {"request_key": "two"}).status_code == 422


def test_only_an_import_is_shown_as_one(browser: Client) -> None:
    job = Job.objects.create(name="planning.rebalance", key="kit:1", by=user())
    assert browser.get(reverse("import-detail", args=[job.pk])).status_code == 404


def test_only_the_owner_imports(browser: Client) -> None:
    browser.force_login(user(Role.PLANNER))
    assert browser.get(reverse("import-new")).status_code == 403
    assert send(browser, small()).status_code == 403
