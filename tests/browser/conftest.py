"""A real browser: Debian's Chromium, driven by playwright, on a live server of the site."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from django.urls import reverse

from tests.browser.visitor import PASSWORD, Visitor
from tests.planning.make import TODAY, Store, planner, store

if TYPE_CHECKING:  # without playwright these tests are skipped, not broken
    from playwright.sync_api import Page

CHROMIUM = Path(os.environ.get("BOXWORT_TEST_CHROMIUM", "/usr/bin/chromium"))
NEEDED = os.environ.get("BOXWORT_NEED_SERVICES") == "yes"
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Skip a browser's test where there is no browser, or fail it where one is owed."""
    if item.get_closest_marker("browser") is None or not (missing := _missing()):
        return
    if NEEDED:
        pytest.fail(missing, pytrace=False)
    pytest.skip(missing)


@pytest.fixture(autouse=True)
def _asked_from_the_loop(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the test reach the database: playwright keeps an event loop running in its thread."""
    monkeypatch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "yes")


@pytest.fixture(params=["light", "dark"])
def page(request: pytest.FixtureRequest) -> Iterator[object]:
    """Yield an empty page of a browser: wide in light colours, and as narrow as a phone in dark."""
    from playwright.sync_api import ViewportSize, sync_playwright

    wide: ViewportSize = {"width": 1280, "height": 900}
    phone: ViewportSize = {"width": 390, "height": 844}
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        context = browser.new_context(
            color_scheme=request.param, viewport=wide if request.param == "light" else phone
        )
        yield context.new_page()
        browser.close()


@pytest.fixture
def house(monkeypatch: pytest.MonkeyPatch) -> Store:
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_, **__: TODAY)
    person = planner()
    person.set_password(PASSWORD)
    person.save()
    return store()


@pytest.fixture
def visitor(house: Store, page: Page, live_server: Any) -> Visitor:
    page.goto(f"{live_server.url}{reverse('sign-in')}")
    page.get_by_label("Username").fill(house.by.username)
    page.get_by_label("Password").fill(PASSWORD)
    arrived = Visitor(page=page, site=live_server.url)
    arrived.press("main button")
    return arrived


def _missing() -> str | None:
    """Return what a browser's test lacks, or nothing."""
    try:
        import axe_playwright_python  # type: ignore[import-untyped]  # noqa: F401
        import playwright  # noqa: F401
    except ImportError as problem:
        return f"{problem.name} is not installed; the extra “test” holds it."
    return None if CHROMIUM.exists() else f"There is no Chromium at {CHROMIUM}."
