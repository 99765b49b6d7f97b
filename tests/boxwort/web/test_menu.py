"""The menu says where a person is, also on pages whose address starts with another word."""

from __future__ import annotations

import pytest

from boxwort.accounts.models import User
from boxwort.roles import Role
from boxwort.web.context import menu_for


@pytest.mark.parametrize(
    ("path", "place"),
    [
        ("/", "Today"),
        ("/recipes/PALE/", "Recipes"),
        ("/revisions/1/methods/extract/", "Recipes"),
        ("/methods/1/scaling/", "Recipes"),
        ("/substitutes/1/withdraw/", "Recipes"),
        ("/trials/1/", "Recipes"),
        ("/styles/", "Recipes"),
        ("/kits/PALE-AG/", "Kits"),
        ("/batches/1/pack/", "Runs"),
        ("/sheets/1/", "Runs"),
        ("/postings/1/reverse/", "Lots"),
        ("/customer-orders/1/", "Orders"),
        ("/demand/", "Demand"),
        ("/zones/new/", "Zones"),
    ],
)
def test_the_menu_marks_the_one_place_a_page_belongs_to(path: str, place: str) -> None:
    menu = menu_for(User(username="rowan", role=Role.OWNER), path)
    places = [entry.label for area in menu for entry in area.places if entry.current]
    assert places == [place]
    assert sum(area.current for area in menu) == 1


def test_an_area_leads_to_its_first_place_and_opens_where_there_is_a_choice() -> None:
    menu = {
        area.label: area for area in menu_for(User(username="rowan", role=Role.VIEWER), "/lots/")
    }
    assert menu["Stock"].url == "/lots/"
    assert menu["Stock"].opened
    assert not menu["Today"].opened
    assert not menu["Recipes"].opened


def test_a_person_sees_only_the_places_they_may_go_to() -> None:
    menu = {area.label: area for area in menu_for(User(username="rowan", role=Role.VIEWER), "/")}
    assert [place.label for place in menu["House"].places] == ["Jobs"]
