"""Substitutes on their page: approved by a weight, shown with what they do, withdrawn."""

from __future__ import annotations

from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client

from boxwort.roles import Role
from recipes.brewing.roles import MethodKind
from recipes.models import Line, Revision, Substitute
from tests.recipes.make import Catalogue, approved, hop, malt, offered, pale_ale
from tests.recipes.web.conftest import Enter
from tests.visits import read, send, statements, words_of


@pytest.fixture
def revision(goods: Catalogue) -> Revision:
    malt("OTHER", points=310.0, colour_lovibond=3.0, power_lintner=90.0, must_mash=True)
    return pale_ale(goods)


def base(revision: Revision) -> Line:
    method = revision.methods.get(kind=MethodKind.ALL_GRAIN)
    return method.lines.get(position=1)


def approve(browser: Client, revision: Revision, **typed: Any) -> HttpResponse:
    revision.refresh_from_db()
    filled = {"version": revision.version, "stands_for": f"line-{base(revision).pk}", **typed}
    return send(browser, "substitute-approve", revision.pk, **filled)


def test_an_empty_list_says_so(viewer: Client, revision: Revision) -> None:
    text = read(viewer, "substitute-list", revision.pk)
    assert "Nothing is approved" in text
    assert "Approve a substitute" not in text


def test_the_weight_that_is_suggested_is_shown_with_its_working(
    designer: Client, revision: Revision
) -> None:
    answer = approve(designer, revision, item="OTHER", act="suggest")
    assert answer.status_code == 200
    assert "0.96774" in words_of(answer)  # 300 points of 310
    assert not Substitute.objects.exists()


def test_without_a_weight_the_suggested_one_is_approved(
    designer: Client, revision: Revision
) -> None:
    assert approve(designer, revision, item="OTHER", note="If pale runs out").status_code == 303
    assert Substitute.objects.get().ratio == pytest.approx(300 / 310)
    text = read(designer, "substitute-list", revision.pk)
    for words in ("OTHER", "If pale runs out", "Same beer</span> as extract", "→", "Withdraw"):
        assert words in text


def test_a_weight_that_was_given_is_kept_and_its_effect_is_shown(
    designer: Client, revision: Revision
) -> None:
    approve(designer, revision, item="OTHER", ratio="1.5")
    assert Substitute.objects.get().ratio == 1.5
    assert "Differs</span> from extract" in read(designer, "substitute-list", revision.pk)


def test_additions_of_one_item_are_told_apart_by_their_time(
    designer: Client, revision: Revision
) -> None:
    hop("OTHER-HOP")
    text = read(designer, "substitute-approve", revision.pk)
    boiled = revision.methods.get(kind=MethodKind.ALL_GRAIN).lines.filter(use="boil").first()
    assert boiled is not None
    assert f"{boiled.item.name}, boil {boiled.minutes} min" in text
    typed = {"stands_for": f"line-{boiled.pk}", "item": "OTHER-HOP"}
    assert approve(designer, revision, **typed).status_code == 303
    assert f"{boiled.minutes} min" in read(designer, "substitute-list", revision.pk)


def test_a_yeast_stands_for_a_yeast(designer: Client, goods: Catalogue, revision: Revision) -> None:
    option = revision.yeasts.get(position=1)
    typed = {"stands_for": f"yeast-{option.pk}", "item": "DRY-ALE"}
    assert approve(designer, revision, **typed).status_code == 303
    assert Substitute.objects.get().yeast == option


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"item": ""}, "required"),
        ({"item": "PALE"}, "cannot stand for itself"),
        ({"item": "BITTER"}, "not of one kind"),
        ({"item": "OTHER", "ratio": "1000"}, "Give a ratio"),
        ({"item": "OTHER", "ratio": "half"}, "Enter a number"),
        ({"item": "OTHER", "stands_for": "line-0"}, "valid choice"),
    ],
)
def test_what_cannot_stand_there_is_refused(
    designer: Client, revision: Revision, typed: dict[str, str], words: str
) -> None:
    answer = approve(designer, revision, **typed)
    assert answer.status_code == 422
    assert words in words_of(answer)
    assert not Substitute.objects.exists()


def test_no_weight_is_suggested_for_what_is_of_another_kind(
    designer: Client, revision: Revision
) -> None:
    hop("SPARE")
    assert approve(designer, revision, item="SPARE", act="suggest").status_code == 422


def test_a_substitute_is_withdrawn_once_that_is_confirmed(
    designer: Client, goods: Catalogue, revision: Revision
) -> None:
    made = approved(base(revision), malt("THIRD", points=305.0, power_lintner=90.0))
    revision.refresh_from_db()
    assert "may no longer stand" in read(designer, "substitute-withdraw", made.pk)
    answer = send(designer, "substitute-withdraw", made.pk, version=revision.version - 1)
    assert answer.status_code == 409
    answer = send(designer, "substitute-withdraw", made.pk, version=revision.version)
    assert answer.status_code == 303
    assert not Substitute.objects.exists()


def test_substitutes_of_an_offered_revision_are_frozen(
    designer: Client, goods: Catalogue, revision: Revision
) -> None:
    made = approved(base(revision), malt("THIRD", points=305.0, power_lintner=90.0))
    revision.refresh_from_db()
    offered(revision)
    text = read(designer, "substitute-list", revision.pk)
    assert ("Frozen" in text, "Withdraw" in text) == (True, False)
    assert approve(designer, revision, item="OTHER").status_code == 422
    assert send(designer, "substitute-withdraw", made.pk, version=1).status_code == 422


def test_only_people_who_write_recipes_approve(enter: Enter, revision: Revision) -> None:
    assert approve(enter(Role.PLANNER), revision, item="OTHER").status_code == 403


def test_a_line_more_to_choose_from_takes_as_many_statements(
    designer: Client, goods: Catalogue, revision: Revision
) -> None:
    read(designer, "substitute-list", revision.pk)
    approved(base(revision), malt("THIRD", points=305.0, power_lintner=90.0))
    one = statements(designer, "substitute-list", revision.pk)
    for number in range(5):
        approved(base(revision), malt(f"MORE-{number}", points=305.0))
    assert statements(designer, "substitute-list", revision.pk) == one
