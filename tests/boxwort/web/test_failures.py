"""When something is refused or breaks, a page says what happened and what to do."""

from __future__ import annotations

import pytest
from django.test import Client, RequestFactory
from django.urls import reverse

from boxwort.web.failures import server_error
from tests.boxwort.web.conftest import HTMX

pytestmark = pytest.mark.urls("tests.boxwort.web.side_doors")


@pytest.mark.parametrize(("how", "status"), [("held", 422), ("raced", 409), ("gone", 404)])
def test_a_refusal_is_a_page_with_its_reason_and_remedy(
    browser: Client, how: str, status: int
) -> None:
    answer = browser.get(f"/fail/{how}/")
    assert answer.status_code == status
    assert "<nav" in answer.content.decode()


def test_a_refusal_offers_the_way_back_but_never_to_another_site(browser: Client) -> None:
    near = browser.get("/fail/held/", headers={"Referer": "http://testserver/jobs/"})
    far = browser.get("/fail/held/", headers={"Referer": "http://elsewhere.example/"})
    assert 'href="http://testserver/jobs/"' in near.content.decode()
    assert "elsewhere" not in far.content.decode()


def test_with_htmx_a_refusal_goes_to_the_notice_area_and_the_form_stays(browser: Client) -> None:
    answer = browser.get("/fail/held/", headers=HTMX)
    assert answer.status_code == 422
    assert answer.headers["HX-Retarget"] == "#notice"
    text = answer.content.decode()
    assert "Lot H1 is on hold. Release it first." in text
    assert "<nav" not in text


def test_a_lost_sign_in_moves_the_whole_page_and_comes_back_to_it(client: Client, db: None) -> None:
    there = {**HTMX, "HX-Current-URL": "http://testserver/jobs/?page=2"}
    answer = client.get("/jobs/1/progress/", headers=there)
    assert answer.status_code == 200
    assert answer.headers["HX-Redirect"] == f"{reverse('sign-in')}?next=%2Fjobs%2F%3Fpage%3D2"


def test_a_lost_sign_in_never_comes_back_to_another_site(client: Client, db: None) -> None:
    there = {**HTMX, "HX-Current-URL": "http://elsewhere.example/jobs/"}
    answer = client.get("/jobs/", headers=there)
    assert "elsewhere" not in answer.headers["HX-Redirect"]


def test_a_form_address_opened_as_a_page_says_so(browser: Client) -> None:
    answer = browser.get(reverse("my-units"))
    assert (answer.status_code, answer.headers["Allow"]) == (405, "POST")
    assert "press its button again" in answer.content.decode()


def test_a_wrong_address_is_a_page(browser: Client) -> None:
    answer = browser.get("/nowhere/")
    assert answer.status_code == 404
    assert "Not found" in answer.content.decode()


def test_a_stale_form_is_told_to_load_again(planner: object, db: None) -> None:
    strict = Client(enforce_csrf_checks=True)
    answer = strict.post(reverse("sign-in"), {"username": "ada"})
    assert answer.status_code == 403
    assert "Load the page again" in answer.content.decode()


@pytest.mark.parametrize("headers", [{}, HTMX])
def test_a_fault_of_ours_shows_no_traceback(browser: Client, headers: dict[str, str]) -> None:
    browser.raise_request_exception = False
    answer = browser.get("/fail/fault/", headers=headers)
    assert answer.status_code == 500
    text = answer.content.decode()
    assert "Something went wrong on our side" in text
    assert "a fault of ours" not in text
    assert "Traceback" not in text


def test_the_page_of_a_fault_asks_nothing_of_the_database(rf: RequestFactory) -> None:
    assert server_error(rf.get("/jobs/")).status_code == 500


def test_what_a_person_typed_cannot_become_markup(browser: Client) -> None:
    answer = browser.get("/fail/held/", headers={"Referer": 'http://testserver/"><b>'})
    assert '"><b>' not in answer.content.decode()
