"""A kit is written from a method with its item and parts, and offered."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from boxwort.roles import Role
from inventory.models import Item, ItemKind
from recipes.brewing.roles import MethodKind
from recipes.models import Kit, Part, Revision
from tests.recipes.make import Catalogue, item, kit, offered, offered_kit, pale_ale
from tests.recipes.web.conftest import Enter
from tests.visits import read, send, words_of


@pytest.fixture
def revision(goods: Catalogue) -> Revision:
    return offered(pale_ale(goods))


def method_id(revision: Revision) -> int:
    return revision.methods.get(kind=MethodKind.EXTRACT).pk


def filled(**typed: Any) -> dict[str, Any]:
    return {
        "act": "save",
        "code": "kit-new",
        "name": "Ridge Pale, extract",
        "volume": "20 L",
        "price": "45.50",
        "shelf_days": "60",
        "yeast_part": "dispatch",
        "grain_part": "packed",
        "contents": "kit",
        "row": ["1", "2"],
        "row-1-item": "BOX",
        "row-1-amount": "1",
        "row-1-part": "packed",
        "row-2-item": "",
        "row-2-amount": "",
        "row-2-part": "packed",
        **typed,
    }


def test_a_maker_comes_from_an_offered_revision_to_an_offered_kit(
    designer: Client, revision: Revision
) -> None:
    assert 'value="20 L"' in read(designer, "kit-new", method_id(revision))
    for _ in range(2):
        answer = send(designer, "kit-new", method_id(revision), key="once", **filled())
        assert answer.status_code == 303
    made = Kit.objects.get()
    assert (made.item.code, made.item.kind) == ("KIT-NEW", ItemKind.KIT)
    assert (made.price, made.shelf_days, made.yeast_part) == (455_000, 60, Part.DISPATCH)
    assert [(p.item.code, p.quantity) for p in made.parts.all()] == [("BOX", 1)]
    assert "45.50 USD" in words_of(designer.get(answer.headers["Location"]))
    assert send(designer, "kit-offer", made.pk, version=made.version).status_code == 303
    made.refresh_from_db()
    assert made.offered


def test_the_size_may_be_handed_on_by_the_page_before(designer: Client, revision: Revision) -> None:
    assert 'value="5 US gal"' in read(designer, "kit-new", method_id(revision), volume="5 US gal")


def test_a_row_is_added_and_removed_without_javascript(
    designer: Client, revision: Revision
) -> None:
    added = send(designer, "kit-new", method_id(revision), **filled(act="add"))
    assert 'name="row-3-item"' in words_of(added)
    removed = send(designer, "kit-new", method_id(revision), **filled(act="remove-1"))
    assert 'name="row-1-item"' not in words_of(removed)
    assert not Kit.objects.exists()


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"code": ""}, "required"),
        ({"code": "BOX"}, "already"),
        ({"code": "no spaces"}, "cannot be the code"),
        ({"volume": "0"}, "has no volume"),
        ({"price": "-1"}, "greater than or equal to 0"),
        ({"row-1-amount": ""}, "has no amount"),
        ({"row-1-amount": "3 kg"}, "kept by count"),
        ({"row-1-item": "Nothing"}, "No item is called"),
        ({"row-2-item": "BOX", "row-2-amount": "2"}, "named twice"),
        ({"target_share": "90"}, "Give both"),
        ({"first_pack_on": "2026-05-01", "last_pack_on": "2026-04-01"}, "before the first"),
        ({"last_pack_on": "2026-05-01", "last_sale_on": "2026-04-01"}, "no longer sold"),
        ({"minimum_kits": "0"}, "Give 1 to 100,000 kits"),
    ],
)
def test_what_no_kit_can_be_is_refused_and_nothing_is_written(
    designer: Client, revision: Revision, typed: dict[str, str], words: str
) -> None:
    answer = send(designer, "kit-new", method_id(revision), **filled(**typed))
    assert answer.status_code == 422
    assert words in words_of(answer)
    assert not Kit.objects.exists()
    assert not Item.objects.filter(code="KIT-NEW").exists()


def test_an_item_that_waits_for_its_kit_is_taken(designer: Client, revision: Revision) -> None:
    from boxwort.quantities import Measure

    item("KIT-NEW", ItemKind.KIT, Measure.COUNT)
    assert send(designer, "kit-new", method_id(revision), **filled()).status_code == 303


def test_a_draft_kit_is_changed_with_its_parts(
    designer: Client, goods: Catalogue, revision: Revision
) -> None:
    made = kit(revision, "KIT-A", goods)
    assert 'value="Box (BOX)"' in read(designer, "kit-edit", made.pk)
    typed = filled(version=made.version, volume="10 L", **{"row-1-amount": "2"})
    assert send(designer, "kit-edit", made.pk, **typed).status_code == 303
    made.refresh_from_db()
    assert (made.volume, made.parts.get().quantity) == (10_000_000, 2)
    assert send(designer, "kit-edit", made.pk, **typed | {"price": "1"}).status_code == 409


def test_of_an_offered_kit_only_price_shelf_and_pitch_change(
    designer: Client, goods: Catalogue, revision: Revision
) -> None:
    made = offered_kit(revision, "KIT-A", goods)
    text = read(designer, "kit-edit", made.pk)
    assert "Frozen" in text
    assert ('name="volume"' in text, 'name="row"' in text) == (False, False)
    typed = {"act": "save", "version": made.version, "price": "50", "shelf_days": "30"}
    assert send(designer, "kit-edit", made.pk, **typed).status_code == 303
    made.refresh_from_db()
    assert (made.price, made.shelf_days, made.volume) == (500_000, 30, 20_000_000)
    assert made.parts.get().quantity == 1


def test_when_and_how_many_are_packed_is_written_and_shown_with_its_box(
    designer: Client, goods: Catalogue, revision: Revision
) -> None:
    made = offered_kit(revision, "KIT-A", goods)
    rules = {"first_pack_on": "2026-03-01", "last_pack_on": "2026-05-31", "minimum_kits": "12"}
    typed = {"act": "save", "version": made.version, "price": "45", "shelf_days": "90", **rules}
    assert send(designer, "kit-edit", made.pk, **typed).status_code == 303
    text = read(designer, "kit-detail", "KIT-A")
    assert "at least 12" in text
    assert 'value="2026-05-31"' in read(designer, "kit-edit", made.pk)
    wrong = send(
        designer, "kit-edit", made.pk, **typed | {"version": "2", "last_sale_on": "2026-05-30"}
    )
    assert 'aria-describedby="id_last_sale_on' in words_of(wrong)


def test_a_hop_pack_is_written_and_put_into_the_kit_it_belongs_to(
    designer: Client, revision: Revision
) -> None:
    typed = filled(code="hops", contents="hop_pack")
    assert send(designer, "kit-new", method_id(revision), **typed).status_code == 303
    assert "Holds the hops alone" in read(designer, "kit-detail", "HOPS")
    typed = filled(**{"row-2-item": "HOPS", "row-2-amount": "1", "row-2-part": "dispatch"})
    answer = send(designer, "kit-new", method_id(revision), **typed)
    text = words_of(designer.get(answer.headers["Location"]))
    assert "Its hops come in the hop pack" in text
    assert "Offer that first" in text
    assert "Offer this kit" not in text


def test_only_people_who_write_recipes_write_kits(enter: Enter, revision: Revision) -> None:
    answer = send(enter(Role.PLANNER), "kit-new", method_id(revision), **filled())
    assert answer.status_code == 403
