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
    ],
)
def test_the_menu_marks_the_one_place_a_page_belongs_to(path: str, place: str) -> None:
    menu = menu_for(User(username="rowan", role=Role.OWNER), path)
    assert [entry.label for entry in menu if entry.current] == [place]
