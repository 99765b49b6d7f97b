"""The papers of a dispatch: the note that goes in the box, and the instructions of that box."""

from __future__ import annotations

from typing import Any

from planning.documents.dispatch_note import COLD_YEAST, dispatch_note_pdf
from planning.documents.dispatch_sheet import box_sheet
from planning.documents.papers import instruction_sheet_pdf
from planning.queries.dispatch_words import yeast_words
from tests.planning.documents.sample import content, line, text

WEAK = {
    "packs": 1,
    "form": "liquid",
    "pitched": 0.8,
    "target": 1.0,
    "floor": 0.5,
    "best_by": None,
    "last_on": "2027-02-01",
    "starter_l": 1.5,
}
FULL = WEAK | {"pitched": 1.1, "best_by": "2026-12-20", "starter_l": None}


def part(**facts: Any) -> dict[str, Any]:
    return {
        "key": "yeast-1",
        "code": "YEAST-GLEN",
        "name": "Glen Ale yeast",
        "measure": "count",
        "lot": "GLEN-07",
        "per_box": 1,
        "quantity": 3,
        "best_before_on": "2027-03-01",
        "crushed": False,
        "is_ice": False,
        "stands_for": "",
        "yeast": FULL,
        **facts,
    }


def box(**facts: Any) -> dict[str, Any]:
    return {
        "kit": {"code": "KIT-PALE", "name": "Ridge Pale"},
        "lot": "RUN-2026-49-01",
        "quantity": 3,
        "brew_on": "2026-12-15",
        "best_before": {"on": "2027-01-20", "set_by": "Crystal malt: crushed life"},
        "grain": "crushed",
        "allergens": ["barley", "wheat"],
        "parts": [part()],
        "batches": ["RUN-2026-49-01"],
        **facts,
    }


def dispatched(*boxes: dict[str, Any], **facts: Any) -> dict[str, Any]:
    return {
        "dispatch": "DISPATCH-261125-1",
        "order": "C-77",
        "customer": "Alder and Ash #strong",
        "zone": "North",
        "producer": "Fernhollow Kit Works",
        "shipped_on": "2026-11-25",
        "arrives_on": "2026-11-27",
        "warm": False,
        "temperature_c": 12.0,
        "boxes": list(boxes),
        "extras": [],
        **facts,
    }


def test_the_note_names_customer_lots_dates_allergens_and_the_best_use_of_the_yeast():
    words = text(dispatch_note_pdf(dispatched(box())))
    for said in (
        "Alder and Ash #strong",
        "3 boxes of Ridge Pale, lot RUN-2026-49-01",
        "grain crushed",
        "Best before 20 Jan 2027 (Crystal malt: crushed life)",
        "GLEN-07",
        "Best pitched by 20 Dec 2026",
        "Contains barley, wheat",
        "Over-priming bursts bottles",
        COLD_YEAST,
    ):
        assert said in words, said
    assert "VOID" not in words


def test_yeast_that_needs_help_says_how_in_the_units_of_the_reader():
    weak = dispatched(box(parts=[part(yeast=WEAK)]))
    words = text(dispatch_note_pdf(weak))
    assert "it gives about 80 % of the pitch we aim at" in words
    assert "1.5 L of wort" in words
    assert "gal" in " ".join(yeast_words(part(yeast=WEAK), "2026-12-15", "us"))
    assert "Best pitched by" not in words


def test_yeast_that_no_starter_helps_asks_for_another_pack():
    said = " ".join(yeast_words(part(yeast=WEAK | {"starter_l": None}), "2026-12-15"))
    assert said.endswith("brew sooner, or pitch another pack.")


def test_extras_stand_beside_the_kits_and_dry_yeast_need_not_be_cold():
    extra = {
        "code": "CAPS",
        "name": "Bottle caps",
        "measure": "count",
        "lot": "CAPS-1",
        "quantity": 200,
        "best_before_on": None,
        "allergens": [],
    }
    dry = dispatched(box(parts=[part(yeast=FULL | {"form": "dry"})]), extras=[extra])
    words = text(dispatch_note_pdf(dry))
    assert "Bottle caps CAPS-1 200 each" in words
    assert COLD_YEAST not in words


def test_the_note_of_what_was_taken_back_is_void():
    assert "VOID" in text(dispatch_note_pdf(dispatched(box()), void="undone"))


def sheet(**facts: Any) -> dict[str, Any]:
    valley = line("yeast-2", "Valley Ale yeast", "yeast", "fermenter", 1)
    added = valley | {"measure": "count", "at_dispatch": True, "lots": []}
    lines = [line("h", "Wending pellets", "hop", "boil", 10_000), added]
    return content(lines=lines, **facts)


def test_the_instructions_of_a_box_name_the_yeast_that_went_into_it():
    given = sheet()
    words = text(instruction_sheet_pdf(box_sheet(given, box(lot=given["batch"]))))
    assert "Glen Ale yeast" in words
    assert "Valley Ale yeast" not in words
    assert "Best before 20 Jan 2027 (Crystal malt: crushed life)" in words
    assert "Contains barley, wheat" in words
    assert "10.0 g" in words


def test_the_instructions_of_a_box_advise_for_its_own_yeast():
    given = sheet()
    weak = box(lot=given["batch"], parts=[part(yeast=WEAK)])
    words = text(instruction_sheet_pdf(box_sheet(given, weak)))
    assert "On 15 Dec 2026 the yeast of this box gives about 80 % of the pitch" in words


def test_the_instructions_of_a_box_of_whole_grain_ask_to_crush_it():
    given = sheet()
    whole = box_sheet(given, box(lot=given["batch"], grain="whole"))
    assert "crush it on the day you brew" in text(instruction_sheet_pdf(whole))
    assert "crush it" not in text(instruction_sheet_pdf(given))


def test_the_sheet_of_a_hop_pack_in_a_box_is_its_own():
    pack = content(batch="PACK-1")
    assert box_sheet(pack, box()) == pack
