"""The twin of a method as it is drafted: shown with its reasons, and taken over by a person."""

from __future__ import annotations

import pytest
from django.test import Client

from boxwort.roles import Role
from inventory.models import Item
from recipes.brewing.roles import Family, MethodKind, Use
from recipes.models import Method, Revision
from recipes.services.methods import write_yeasts
from tests.recipes.make import (
    Catalogue,
    developer,
    draft,
    line,
    offered,
    pale_ale,
    write_all_grain,
)
from tests.recipes.web.conftest import Enter
from tests.visits import read, send, statements, words_of

FAMILIES = {
    "PALE": Family.BASE_MALT,
    "CRYSTAL": Family.CRYSTAL,
    "OATS": Family.FLAKED_OATS,
    "EXTRACT": Family.PALE_EXTRACT,
}


@pytest.fixture
def revision(goods: Catalogue) -> Revision:
    for code, family in FAMILIES.items():
        spec = Item.objects.get(code=code).malt
        spec.family = family
        spec.save()
    revision = draft()
    write_yeasts(by=developer(), revision=revision, items=[goods.ale_yeast])
    write_all_grain(revision, goods, line(goods.gypsum, Use.MASH, 5))
    return revision


def all_grain(revision: Revision) -> Method:
    return revision.methods.get(kind=MethodKind.ALL_GRAIN)


def asked(revision: Revision, **typed: str) -> dict[str, object]:
    revision.refresh_from_db()
    volumes = {"pre_boil_volume": "13 L", "post_boil_volume": "11 L", "mash": "yes"}
    return {"version": revision.version, **volumes, **typed}


def test_the_draft_is_shown_with_its_reasons_and_nothing_is_written(
    designer: Client, revision: Revision
) -> None:
    text = read(designer, "twin-draft", all_grain(revision).pk)
    for words in ("Extract with steeped grain, drafted", "litre-degrees", "the same beer"):
        assert words in text
    assert revision.methods.count() == 1


def test_the_draft_is_taken_over_as_a_method_like_any(designer: Client, revision: Revision) -> None:
    method, typed = all_grain(revision), asked(revision)
    for _ in range(2):
        answer = send(designer, "twin-draft", method.pk, key="once", **typed)
        assert answer.status_code == 303
    twin = revision.methods.get(kind=MethodKind.EXTRACT)
    assert (twin.pre_boil_volume, twin.finished_volume) == (13_000_000, 20_000_000)
    uses = {(each.item.code, each.use) for each in twin.lines.all()}
    assert ("CRYSTAL", "steep") in uses
    assert ("GYPSUM", "boil") in uses  # nothing is mashed
    assert twin.lines.get(use="dry_hop").quantity == 30_000
    text = words_of(designer.get(answer.headers["Location"]))
    assert "Nothing in this method stands in the way" in text


def test_where_nobody_mashes_the_draft_says_that_the_body_differs(
    designer: Client, goods: Catalogue, revision: Revision
) -> None:
    write_all_grain(revision, goods, line(goods.flaked_oats, Use.MASH, 400))
    text = read(designer, "twin-draft", all_grain(revision).pk, **asked(revision))
    assert "Partial mash, drafted" in text
    stood_in = read(designer, "twin-draft", all_grain(revision).pk, **asked(revision, mash="no"))
    assert "body differs" in stood_in


def test_an_extract_method_has_an_all_grain_twin(
    designer: Client, goods: Catalogue, revision: Revision
) -> None:
    send(designer, "twin-draft", all_grain(revision).pk, **asked(revision))
    twin = revision.methods.get(kind=MethodKind.EXTRACT)
    text = read(designer, "twin-draft", twin.pk)
    assert "All-grain, drafted" in text
    assert "writes that method anew" in text


def test_what_has_no_twin_says_why(designer: Client, goods: Catalogue, revision: Revision) -> None:
    spec = goods.pale_malt.malt
    spec.family = ""
    spec.save()
    method = all_grain(revision)
    assert "of no family" in read(designer, "twin-draft", method.pk, expect=422)
    answer = send(designer, "twin-draft", method.pk, **asked(revision))
    assert answer.status_code == 422
    assert revision.methods.count() == 1


@pytest.mark.parametrize(
    "typed", [{"pre_boil_volume": "much"}, {"post_boil_volume": "20 L"}, {"mash": "maybe"}]
)
def test_volumes_that_cannot_be_are_refused(
    designer: Client, revision: Revision, typed: dict[str, str]
) -> None:
    answer = send(designer, "twin-draft", all_grain(revision).pk, **asked(revision, **typed))
    assert answer.status_code == 422
    assert revision.methods.count() == 1


def test_a_draft_that_was_changed_meanwhile_is_not_written_over(
    designer: Client, revision: Revision
) -> None:
    stale = asked(revision) | {"version": revision.version - 1}
    assert send(designer, "twin-draft", all_grain(revision).pk, **stale).status_code == 409


def test_an_offered_revision_gets_no_twin(designer: Client, goods: Catalogue) -> None:
    revision = offered(pale_ale(goods, "OTHER-ALE"))
    read(designer, "twin-draft", all_grain(revision).pk, expect=422)


def test_only_people_who_write_recipes_draft_twins(enter: Enter, revision: Revision) -> None:
    read(enter(Role.PLANNER), "twin-draft", all_grain(revision).pk, expect=403)


def test_a_method_of_many_lines_is_drafted_in_as_many_statements(
    designer: Client, goods: Catalogue, revision: Revision
) -> None:
    method = all_grain(revision)
    read(designer, "twin-draft", method.pk)
    few = statements(designer, "twin-draft", method.pk)
    write_all_grain(revision, goods, *(line(goods.gypsum, Use.BOIL, n + 1, 60) for n in range(20)))
    assert statements(designer, "twin-draft", method.pk) == few
