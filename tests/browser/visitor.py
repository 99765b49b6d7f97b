"""Somebody at the browser, for whom every page they come to is looked at."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.urls import reverse

if TYPE_CHECKING:  # without playwright the tests that use it are skipped, not broken
    from playwright.sync_api import Page

PASSWORD = "a long enough word"
SERIOUS = {"serious", "critical"}


@dataclass
class Visitor:
    """Somebody at the browser; every page they come to is looked at for barriers."""

    page: Page
    site: str

    def go(self, name: str, *args: object) -> None:
        self.page.goto(f"{self.site}{reverse(name, args=args)}")
        self.looked_at()

    def press(self, button: str) -> None:
        """Press a button or link and wait for the page it leads to."""
        with self.page.expect_navigation():
            self.page.locator(button).press("Enter")
        self.looked_at()

    def looked_at(self) -> None:
        """Find no serious barrier on the page, and nothing wider than the window."""
        from axe_playwright_python.sync_playwright import Axe  # type: ignore[import-untyped]

        self.page.wait_for_load_state("networkidle")
        found = [
            (rule["id"], [node["html"] for node in rule["nodes"]])
            for rule in Axe().run(self.page).response["violations"]
            if rule["impact"] in SERIOUS
        ]
        assert found == [], self.page.url
        root = self.page.evaluate(
            "[document.documentElement.scrollWidth, document.documentElement.clientWidth]"
        )
        assert root[0] <= root[1], self.page.url

    def sees(self, text: str) -> None:
        assert text in self.page.locator("body").inner_text()
