"""The form of a draft's method: figures that follow, rows, what is typed kept, and saving."""

from __future__ import annotations

import uuid

import pytest
from django.test import Client

from boxwort.quantities import MG_PER_KG
from boxwort.roles import Role
from recipes.brewing.roles import HopRole, MethodKind, Use
from recipes.models import Method, Revision, TypedMethod
from tests.recipes.make import Catalogue, draft, offered, pale_ale, write_extract
from tests.recipes.web.conftest import Enter
from tests.recipes.web.desks import boxes, press, type_in
from tests.visits import read, statements, words_of


@pytest.fixture
def revision(goods: Catalogue) -> Revision:
    return pale_ale(goods)


def extract(revision: Revision) -> Method:
    return revision.methods.get(kind=MethodKind.EXTRACT)


def quantities(revision: Revision) -> list[int]:
    return list(extract(revision).lines.values_list("quantity", flat=True))


def test_the_form_shows_the_method_as_it_stands(designer: Client, revision: Revision) -> None:
    text = read(designer, "method-edit", revision.pk, "extract")
    for words in ("Extract (EXTRACT)", "2.7 kg", "36.3 g", "12 L", "Takes the difference", "1.0"):
        assert words in text
    assert "not saved yet" not in text


def test_saving_what_stands_changes_no_amount(designer: Client, revision: Revision) -> None:
    before = list(extract(revision).lines.values())
    answer = press(designer, revision, "save", boxes(revision))
    assert answer.status_code == 303
    said = [{**row, "id": 0} for row in extract(revision).lines.values()]
    assert said == [{**row, "id": 0} for row in before]


@pytest.mark.parametrize("system", ["metric", "us"])
def test_an_amount_stays_the_same_in_the_units_of_either_reader(
    enter: Enter, revision: Revision, system: str
) -> None:
    browser = enter(Role.DEVELOPER)
    before = quantities(revision)
    from boxwort.accounts.models import User

    User.objects.filter(role=Role.DEVELOPER).update(units=system)
    assert press(browser, revision, "save", boxes(revision, system=system)).status_code == 303
    assert quantities(revision) == before


def test_the_figures_follow_what_is_typed(designer: Client, revision: Revision) -> None:
    light = words_of(type_in(designer, revision, boxes(revision)))
    strong = words_of(type_in(designer, revision, boxes(revision, **{"row-1-amount": "4 kg"})))
    assert "1.051" in light
    assert "1.075" in strong
    assert quantities(revision)[0] == round(2.7 * MG_PER_KG)


def test_the_figures_say_what_twin_and_style_and_obstacles_make_of_it(
    designer: Client, revision: Revision
) -> None:
    typed = boxes(revision, **{"row-1-amount": "4 kg", "row-3-role": "hold_weight"})
    text = words_of(type_in(designer, revision, typed))
    for words in ("not the same beer", "Outside", "No hop of the extract", "No style “Pale ale”"):
        assert words in text


def test_what_cannot_be_read_is_named_and_the_rest_still_counts(
    designer: Client, revision: Revision
) -> None:
    text = words_of(type_in(designer, revision, boxes(revision, **{"row-3-amount": "1,5 g"})))
    assert "Row 3, amount: Write a number" in text
    assert "1.051" in text


def test_a_box_that_all_figures_need_leaves_them_out(designer: Client, revision: Revision) -> None:
    for typed in ({"finished_volume": "much"}, {"pre_boil_volume": "1 L"}, {"stand_minutes": "9"}):
        text = words_of(type_in(designer, revision, boxes(revision, **typed)))
        assert "Not read yet" in text
        assert "Original gravity" not in text


def test_what_is_typed_comes_back_as_it_was_typed(designer: Client, revision: Revision) -> None:
    type_in(designer, revision, boxes(revision, **{"row-1-amount": "about 3 kg?", "steps": "Stir"}))
    text = read(designer, "method-edit", revision.pk, "extract")
    for words in ("about 3 kg?", "Stir", "not saved yet", "Discard what was typed"):
        assert words in text


def test_typing_back_what_stands_leaves_nothing_to_save(
    designer: Client, revision: Revision
) -> None:
    type_in(designer, revision, boxes(revision, boil_minutes="90"))
    type_in(designer, revision, boxes(revision))
    assert "not saved yet" not in read(designer, "method-edit", revision.pk, "extract")


def test_what_is_typed_is_discarded(designer: Client, revision: Revision) -> None:
    type_in(designer, revision, boxes(revision, boil_minutes="90"))
    assert press(designer, revision, "discard", {}).status_code == 303
    text = read(designer, "method-edit", revision.pk, "extract")
    assert ('value="90"' in text, "not saved yet" in text) == (False, False)


def test_typing_that_arrives_after_the_form_was_saved_is_late(
    designer: Client, revision: Revision
) -> None:
    key, typed = str(uuid.uuid4()), boxes(revision, boil_minutes="90")
    press(designer, revision, "save", typed, key=key)
    type_in(designer, revision, typed, key=key)
    assert "not saved yet" not in read(designer, "method-edit", revision.pk, "extract")
    assert extract(revision).boil_minutes == 90


def test_a_tampered_form_is_kept_as_far_as_it_can_be(designer: Client, revision: Revision) -> None:
    number, steps = "9" * 5_000, "Boil\0 it."
    typed = boxes(revision, version=number, steps=steps, row=[number, "1"])
    assert press(designer, revision, "add", typed).status_code == 200
    kept = TypedMethod.objects.get(texts__steps__isnull=False)
    assert (kept.started_from, kept.texts["steps"]) == (revision.version, ["Boil it."])
    over = boxes(revision, seen=number)
    assert press(designer, revision, "save-over", over).status_code == 409


def test_a_draft_without_yeast_leads_to_its_yeasts(designer: Client, revision: Revision) -> None:
    revision.yeasts.all().delete()
    text = words_of(type_in(designer, revision, boxes(revision)))
    assert "Choose the yeasts" in text


def test_two_people_type_side_by_side(enter: Enter, revision: Revision) -> None:
    one, other = enter(Role.DEVELOPER), enter(Role.OWNER)
    type_in(one, revision, boxes(revision, steps="Stir it"))
    type_in(other, revision, boxes(revision, steps="Leave it"))
    text = read(one, "method-edit", revision.pk, "extract")
    assert ("Stir it" in text, "Leave it" in text) == (True, False)
    assert "has not saved" in text


def test_the_second_to_save_is_told_and_keeps_their_typing(
    enter: Enter, revision: Revision
) -> None:
    one, other = enter(Role.DEVELOPER), enter(Role.OWNER)
    mine, theirs = boxes(revision, steps="Stir it"), boxes(revision, steps="Leave it")
    assert press(one, revision, "save", mine).status_code == 303
    answer = press(other, revision, "save", theirs)
    assert answer.status_code == 409
    assert "changed by someone else" in words_of(answer)
    text = read(other, "method-edit", revision.pk, "extract")
    assert "Leave it" in text
    assert "Save mine over it" in text
    assert extract(revision).steps == "Stir it"
    revision.refresh_from_db()
    over = press(other, revision, "save-over", {**theirs, "seen": str(revision.version)})
    assert over.status_code == 303
    assert extract(revision).steps == "Leave it"


def test_saving_one_method_leaves_the_typing_at_the_other_up_to_date(
    designer: Client, revision: Revision
) -> None:
    other = MethodKind.ALL_GRAIN
    type_in(designer, revision, boxes(revision, other, steps="Later"), other)
    press(designer, revision, "save", boxes(revision, steps="Now"))
    text = read(designer, "method-edit", revision.pk, "all_grain")
    assert "Later" in text
    assert "changed after this typing began" not in text


def test_a_form_sent_twice_is_saved_once(designer: Client, revision: Revision) -> None:
    filled = boxes(revision, boil_minutes="90")
    for _ in range(2):
        assert press(designer, revision, "save", filled, key="once").status_code == 303
    version = revision.version
    revision.refresh_from_db()
    assert revision.version == version + 1


def test_rows_are_added_moved_and_removed_without_javascript(
    designer: Client, revision: Revision
) -> None:
    added = words_of(press(designer, revision, "add", boxes(revision)))
    assert 'name="row-7-item"' in added
    assert "autofocus" in added
    moved = words_of(press(designer, revision, "down-1", boxes(revision)))
    assert moved.index("Crystal (CRYSTAL)") < moved.index("Extract (EXTRACT)")
    removed = words_of(press(designer, revision, "remove-1", boxes(revision)))
    assert 'value="Extract (EXTRACT)" list' not in removed.replace('name="row-1-item" ', "")
    assert len(quantities(revision)) == 6


def test_rows_are_saved_in_the_order_they_stand(designer: Client, revision: Revision) -> None:
    press(designer, revision, "save", boxes(revision, row=["2", "1", "3", "4", "5", "6"]))
    assert [line.item.code for line in extract(revision).lines.all()][:2] == ["CRYSTAL", "EXTRACT"]


def test_a_row_without_item_and_amount_is_no_line(designer: Client, revision: Revision) -> None:
    blank = {"row-2-item": "", "row-2-amount": ""}
    assert press(designer, revision, "save", boxes(revision, **blank)).status_code == 303
    assert len(quantities(revision)) == 5


def test_an_item_is_named_by_its_code_or_name(designer: Client, revision: Revision) -> None:
    named = {"row-1-item": "extract", "row-2-item": "CRYSTAL"}
    assert press(designer, revision, "save", boxes(revision, **named)).status_code == 303


def test_a_hop_without_alpha_takes_its_planning_alpha(designer: Client, revision: Revision) -> None:
    typed = boxes(revision, **{"row-4-alpha": ""})
    text = words_of(type_in(designer, revision, typed))
    assert "Row 4: its planning alpha of 6.0 % is taken for Aroma." in text
    press(designer, revision, "save", typed)
    assert extract(revision).lines.get(position=4).reference_alpha == 0.06


def test_a_hop_that_moves_its_time_has_limits(designer: Client, revision: Revision) -> None:
    typed = {"row-3-role": "move_time", "row-3-least": "45", "row-3-most": "60"}
    assert press(designer, revision, "save", boxes(revision, **typed)).status_code == 303
    line = extract(revision).lines.get(position=3)
    assert (line.role, line.use, line.least_minutes) == (HopRole.MOVE_TIME, Use.BOIL, 45)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"row-1-item": "Nothing"}, "No item is called Nothing"),
        ({"row-1-amount": ""}, "has no amount"),
        ({"row-1-amount": "3 L"}, "kept by mass"),
        ({"row-1-item": ""}, "Say of what this is the amount"),
        ({"row-1-role": "absorb"}, "is not a hop"),
        ({"row-3-alpha": "60"}, "cannot be"),
        ({"row-3-least": "5"}, "does not move its time"),
        ({"row-3-minutes": "long"}, "whole number"),
        ({"boil_minutes": ""}, "required"),
        ({"post_boil_volume": "15 L"}, "not those of a boil"),
        ({"attenuation": "140"}, "cannot be"),
        ({"stand_minutes": "20"}, "half declared"),
        ({"carbonation_volumes": "9"}, "not for bottles"),
        ({"steps": "x" * 20_001}, "at most 20000 characters"),
    ],
)
def test_what_cannot_be_saved_is_said_beside_its_box_and_kept(
    designer: Client, revision: Revision, typed: dict[str, str], words: str
) -> None:
    before = quantities(revision)
    answer = press(designer, revision, "save", boxes(revision, **typed))
    assert answer.status_code == 422
    said = words_of(answer)
    assert "Nothing is saved yet" in said
    assert words in said
    assert quantities(revision) == before


def test_heavy_bottles_are_ticked_kept_and_unticked(designer: Client, revision: Revision) -> None:
    typed = boxes(revision, carbonation_volumes="4.5", heavy_bottles="on")
    assert press(designer, revision, "save", typed).status_code == 303
    assert extract(revision).heavy_bottles
    again = boxes(revision)
    assert again["heavy_bottles"] == ["on"]
    assert 'id="id_heavy_bottles" checked' in read(designer, "method-edit", revision.pk, "extract")
    page = read(designer, "recipe-revision", revision.recipe.code, revision.number)
    assert "Needs heavy bottles made for 4.5 volumes" in page
    del again["heavy_bottles"]
    assert press(designer, revision, "save", again).status_code == 303
    assert not extract(revision).heavy_bottles
    page = read(designer, "recipe-revision", revision.recipe.code, revision.number)
    assert "Needs heavy bottles" not in page


def test_a_method_is_begun_with_an_empty_form(designer: Client, goods: Catalogue) -> None:
    revision = draft()
    assert 'name="row-4-item"' in read(designer, "method-edit", revision.pk, "all_grain")
    filled = boxes(
        revision,
        MethodKind.ALL_GRAIN,
        finished_volume="20",
        pre_boil_volume="25",
        post_boil_volume="21 L",
        **{"row-1-item": "PALE", "row-1-amount": "4.4"},
    )
    answer = press(designer, revision, "save", filled, MethodKind.ALL_GRAIN)
    assert answer.status_code == 303
    assert revision.methods.get().lines.get().quantity == round(4.4 * MG_PER_KG)


def test_an_offered_revision_has_no_form(designer: Client, revision: Revision) -> None:
    filled = boxes(revision)
    offered(revision)
    text = read(designer, "method-edit", revision.pk, "extract", expect=422)
    assert "can no longer change" in text
    for answer in (press(designer, revision, "save", filled), type_in(designer, revision, filled)):
        assert answer.status_code == 422


def test_a_method_of_no_known_kind_is_not_found(designer: Client, revision: Revision) -> None:
    read(designer, "method-edit", revision.pk, "stewed", expect=404)


def test_only_people_who_write_recipes_type(enter: Enter, revision: Revision) -> None:
    for role in (Role.PLANNER, Role.PACKER, Role.VIEWER):
        assert type_in(enter(role), revision, boxes(revision)).status_code == 403
    assert not TypedMethod.objects.exists()


def test_a_method_of_many_lines_takes_as_many_statements(
    designer: Client, goods: Catalogue, revision: Revision
) -> None:
    read(designer, "method-edit", revision.pk, "extract")
    few = statements(designer, "method-edit", revision.pk, "extract")
    from tests.recipes.make import line

    write_extract(revision, goods, *(line(goods.gypsum, Use.BOIL, 1 + n) for n in range(30)))
    assert statements(designer, "method-edit", revision.pk, "extract") == few
