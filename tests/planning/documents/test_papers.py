"""The papers of a batch: what they say, and that a name is never markup."""

from __future__ import annotations

from dataclasses import replace
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
from recipes.brewing.priming import PRIMING_SUGARS, PrimingRule, priming_sugar, volumes_from
from recipes.brewing.roles import Family
from recipes.brewing.strike import first_runnings, mash_water, strike_temperature
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


def worded(**more):
    """Return the words of an all-grain sheet, with plain apostrophes."""
    told = text(instruction_sheet_pdf({**all_grain_content(), **more}))
    return told.replace("\N{RIGHT SINGLE QUOTATION MARK}", "'")


def kept(working):
    return working.as_json()


def mash(thickness=3.0):
    return {
        "strike": kept(strike_temperature(mash_l_per_kg=thickness, grain_c=18.0, mash_c=67.0)),
        "mash_water": kept(mash_water(grain_kg=5.12, mash_l_per_kg=thickness)),
        "first_runnings": kept(first_runnings(grain_kg=5.12, mash_l_per_kg=thickness)),
    }


def primed(volumes, *sugars):
    beer = {"volume_l": 20.0, "highest_temperature_c": 19.0, "rule": PrimingRule.STOICHIOMETRY}
    figures = [priming_sugar(volumes=volumes, sugar=sugar, **beer) for sugar in sugars]
    named = [
        replace(figure, name=f"{figure.name}, {PRIMING_SUGARS[sugar].name}")
        for figure, sugar in zip(figures, sugars, strict=True)
    ]
    return {"carbonation_volumes": volumes, "brew_day": {"priming": [kept(each) for each in named]}}


def hops(*lines):
    return [line(f"h-{n}", *facts[:3], 10_000, **facts[3]) for n, facts in enumerate(lines)]


def test_the_mash_is_struck_with_so_much_water_so_hot():
    words = worded(brew_day=mash())
    assert "Heat 15.4 L of water to 74 °C" in words
    assert "grain at 18 °C brings it to the mash temperature" in words
    assert "Drain it, about 10 L, and rinse" in words
    assert "Water this hot scalds" in words


def test_a_mash_whose_thickness_nobody_said_is_mashed_all_the_same():
    words = worded()
    assert "into hot water and hold the mash at 67 °C" in words
    assert "Water this hot" not in words


def test_first_wort_hops_go_in_before_the_boil():
    words = worded(lines=hops(("Wending", "hop", "first_wort", {})))
    assert "As it fills, put in 10.0 g Wending: first wort." in words
    assert "Once it boils" not in words


def test_a_declared_hop_stand_says_how_long_how_warm_and_what_goes_in_when():
    lines = hops(
        ("Wending", "hop", "whirlpool", {}), ("Larkmoor", "hop", "whirlpool", {"minutes": 5})
    )
    words = worded(lines=lines, stand={"minutes": 20, "from_c": 95.0, "to_c": 80.0})
    assert "for 20 minutes, while it falls evenly from 95 °C to 80 °C" in words
    assert "Stir in 10.0 g Wending as it begins." in words
    assert "With 5 minutes left, at about 84 °C, stir in 10.0 g Larkmoor." in words


def test_a_stand_is_for_the_hops_of_the_boil_too():
    assert "Hop stand: 15 minutes" in worded(stand={"minutes": 15, "from_c": 90.0, "to_c": 90.0})


def test_a_hop_whose_time_was_moved_goes_in_at_its_new_time():
    lines = hops(("Wending", "hop", "boil", {"minutes": 47}))
    words = worded(lines=lines)
    assert "47 minutes before the end" in words
    assert "Boil, last 47 min" in words


def test_a_substitute_says_what_it_stands_in_for_and_who_approved_it():
    lines = hops(
        (
            "Wending",
            "hop",
            "boil",
            {"minutes": 10, "stands_for": "Larkmoor", "approved_by": "Robin"},
        )
    )
    said = "Stands in for Larkmoor, approved by Robin"
    assert said in worded(lines=lines)
    assert said in text(weigh_sheet_pdf(content(lines=lines)))


def test_priming_names_the_weight_of_each_sugar_its_rule_and_what_it_presumes():
    words = worded(**primed(2.4, Family.SUCROSE, Family.GLUCOSE_MONOHYDRATE))
    grams = priming_sugar(
        volumes=2.4,
        volume_l=20.0,
        highest_temperature_c=19.0,
        sugar=Family.SUCROSE,
        rule=PrimingRule.STOICHIOMETRY,
    ).value
    assert f"{grams:.0f} g of sucrose (table sugar) or" in words
    assert "g of glucose monohydrate (corn sugar)" in words
    assert "by stoichiometry" in words
    assert "no warmer than 19 °C since fermentation slowed" in words
    assert "typically rated for 4 volumes" in words


def test_lively_beer_is_cautioned_and_what_bursts_bottles_is_not_dosed():
    assert "3.5 volumes are high" in worded(**primed(3.5, Family.SUCROSE))
    words = worded(carbonation_volumes=4.5, brew_day={"priming": []})
    assert "do not put that into ordinary bottles" in words
    assert "weigh" not in words[words.index("Bottle This beer") : words.index("Keep the bottles")]


def test_beer_for_heavy_bottles_is_dosed_and_cautioned():
    beer = {"volume_l": 20.0, "highest_temperature_c": 19.0, "rule": PrimingRule.STOICHIOMETRY}
    figure = priming_sugar(volumes=4.5, sugar=Family.SUCROSE, heavy_bottles=True, **beer)
    figure = replace(figure, name="Priming sugar, sucrose")
    words = worded(
        carbonation_volumes=4.5, heavy_bottles_for=4.5, brew_day={"priming": [kept(figure)]}
    )
    assert f"weigh {figure.value:.0f} g of sucrose (table sugar)" in words
    assert "needs heavy bottles made for 4.5 volumes of carbon dioxide" in words
    assert "do not put that into ordinary bottles" not in words


def test_beer_that_holds_enough_gas_is_not_primed():
    assert "this beer needs no sugar" in worded(**primed(0.5, Family.SUCROSE))


def test_sugar_in_the_box_says_what_it_gives():
    lines = [line("s", "Table sugar", "sugar", "priming", 120_000)]
    given = volumes_from(
        grams=120.0,
        volume_l=20.0,
        highest_temperature_c=19.0,
        sugar=Family.SUCROSE,
        rule=PrimingRule.STOICHIOMETRY,
    )
    words = worded(lines=lines, brew_day={"carbonation": kept(given)})
    assert "Dissolve 120.0 g Table sugar" in words
    said = f"It gives about {given.value:.1f} volumes of carbon dioxide, by"
    assert f"{said} stoichiometry." in words
    other = worded(
        lines=lines,
        brew_day={"carbonation": kept(given)},
        priming_rule=PrimingRule.BREWING_TEXT.value,
    )
    assert f"{said} the rule of brewing texts." in other


def test_the_best_before_names_what_sets_it():
    dated = {"on": "2027-01-08", "set_by": "Pale malt, lot P-1: crushed life"}
    assert "Best before 8 Jan 2027 (Pale malt, lot P-1: crushed life)." in worded(best_before=dated)


def test_yeast_below_its_target_is_made_up_for():
    yeast = {"packs": 1, "pitched": 0.8, "target": 1.0, "starter_l": 1.0}
    words = worded(yeast=yeast)
    assert "gives about 80 % of the pitch" in words
    assert "in 1 L of wort" in words
    assert "pitch another pack" in words
    assert "of the pitch" not in worded(yeast={**yeast, "pitched": 1.0})


def test_yeast_a_hair_below_its_target_needs_no_other_pack():
    yeast = {"packs": 1, "pitched": 0.997, "target": 1.0, "starter_l": None}
    assert "of the pitch" not in worded(yeast=yeast)
    assert "about 99 % of the pitch" in worded(yeast={**yeast, "pitched": 0.99})


def test_a_box_that_ends_before_its_brew_day_is_to_be_brewed_before_it_ends():
    words = worded(best_before={"on": "2027-02-20", "set_by": "Pale malt: crushed life"})
    assert "Best brewed by 20 Feb 2027." in words
    assert "Best brewed by 2 Mar 2027." in worded(best_before={"on": "2027-04-01"})


def test_the_weigher_reads_the_allergens_and_to_clean_between_kits():
    words = text(weigh_sheet_pdf(content(allergens=["barley", "lactose"])))
    assert "Contains barley, lactose. Gluten: barley. Clean scale, scoop and bench" in words
