"""The papers of a batch: what they say, and that a name is never markup."""

from __future__ import annotations

from io import BytesIO

import pytest
from pypdf import PdfReader

from planning.documents.papers import (
    NOWHERE,
    Paper,
    instruction_sheet_pdf,
    pick_list_pdf,
    weigh_sheet_pdf,
)
from tests.planning.documents.sample import all_grain_content, content, line, text

MARKUP = "#emoji *bold* _it_ $x^2$ [a] <b> @c \\ `d` ~ -- /* e */ // f"


def test_the_weigh_sheet_names_batch_sheet_kits_weights_tolerances_and_lots():
    words = text(weigh_sheet_pdf(content()))
    for said in ("RUN-2026-49-01", "Weigh sheet 2", "24 kits", "31.5 g", "± 0.2 g", "LARK-24A"):
        assert said in words
    assert "29.6 of 29.8 IBU ± 0.9" in words


def test_grain_of_one_bag_has_a_running_total():
    words = text(weigh_sheet_pdf(all_grain_content()))
    assert "600.0 g 4.800 kg" in words
    assert "320.0 g 5.120 kg" in words


def test_what_is_added_at_dispatch_is_not_weighed_now():
    words = text(weigh_sheet_pdf(content()))
    assert words.index("Added at dispatch") < words.index("Valley Ale yeast, dry")


def test_a_void_sheet_says_so_and_why():
    assert "VOID" not in text(weigh_sheet_pdf(content()))
    words = text(weigh_sheet_pdf(content(), void="hop lot LARK-24A was tested again"))
    assert "VOID. Do not weigh by this sheet: hop lot LARK-24A was tested again" in words


def test_the_pick_list_adds_up_a_lot_over_the_batches_of_a_run():
    both = [line("h", "Wending pellets", "hop", "boil", 10_000)]
    runs = [content(lines=both), content(batch="RUN-2026-49-02", lines=both)]
    words = text(pick_list_pdf(runs, places={"WENDING-PELL-01": "Cold room"}))
    assert "480.0 g" in words
    assert "Cold room" in words
    assert NOWHERE not in words


def test_a_lot_whose_place_is_not_known_is_listed_all_the_same():
    words = text(pick_list_pdf([content()], places={}))
    assert NOWHERE in words
    assert "LARK-24A" in words


def test_the_instruction_sheet_has_the_weights_of_this_batch_and_the_cautions():
    words = text(instruction_sheet_pdf(content()))
    for said in (
        "31.5 g",
        "For 23 L of beer",
        "Figures are estimates for this batch's ingredients, not laboratory results.",
        "Contains barley. Gluten: barley.",
        "Take the heat off before extract or syrup goes in",
        "Over-priming bursts bottles",
        "gives off carbon dioxide: ventilate",
        "never mix them",
        "follow your local codes",
        "Needs three weeks in the bottle to come round.",
    ):
        assert said in words.replace("\N{RIGHT SINGLE QUOTATION MARK}", "'")


def test_notes_written_for_another_size_say_so_before_they_begin():
    assert "were written for" not in text(instruction_sheet_pdf(content()))
    words = text(instruction_sheet_pdf(content(volume_ul=4_500_000)))
    told = words.index("These notes were written for 23 L; this box brews 4.5 L.")
    assert told < words.index("Needs three weeks in the bottle")


def test_the_steps_follow_the_clock():
    words = text(instruction_sheet_pdf(content()))
    order = (
        "Steep the grain",
        "Bring to the boil: 60",
        "15 minutes before",
        "Flame-out",
        "Dry hop",
    )
    places = [words.index(step, words.index("step by step")) for step in order]
    assert places == sorted(places)


def test_an_all_grain_sheet_mashes_and_has_no_steep():
    words = text(instruction_sheet_pdf(all_grain_content()))
    assert "hold the mash at 67 °C" in words
    assert "Steep the grain" not in words


def test_us_units_on_letter_paper():
    pdf = instruction_sheet_pdf(all_grain_content(), units="us", paper=Paper.LETTER)
    words = text(pdf)
    assert "9.259 lb" in words
    assert "153 °F" in words
    assert PdfReader(BytesIO(pdf)).pages[0].mediabox.width == 612


@pytest.mark.parametrize("draw", [weigh_sheet_pdf, instruction_sheet_pdf])
def test_a_name_with_markup_in_it_prints_as_it_is_written(draw):
    kit = {"code": "KIT-1", "name": MARKUP}
    pdf = draw(content(kit=kit, lines=[line("h", MARKUP, "hop", "boil", 1000, minutes=60)]))
    assert text(pdf).count(MARKUP) >= 2


def test_a_character_without_a_glyph_is_spelled_out_and_control_characters_are_dropped():
    words = text(weigh_sheet_pdf(content(producer="Brau\x07haus 漢\N{BEER MUG}")))
    assert "Brauhaus [U+6F22][U+1F37A]" in words


def test_papers_are_tagged_titled_and_the_same_each_time():
    pdf = weigh_sheet_pdf(content())
    reader = PdfReader(BytesIO(pdf))
    assert reader.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert reader.metadata.title == "Weigh sheet 2 of batch RUN-2026-49-01"
    assert pdf == weigh_sheet_pdf(content())


def test_a_large_batch_runs_over_to_more_pages():
    many = [line(f"g-{n}", f"Grain {n}", "grain", "mash", 100_000 + n) for n in range(60)]
    pdf = weigh_sheet_pdf(content(lines=many, kits=400))
    assert len(PdfReader(BytesIO(pdf)).pages) > 1
    assert "and 280 more" in text(pdf)
