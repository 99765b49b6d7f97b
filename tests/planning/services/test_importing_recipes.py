"""Styles, substitutes and what a method says of itself, from a workbook."""

from __future__ import annotations

from pathlib import Path

import pytest

from boxwort.accounts.models import History
from inventory.models import Item
from recipes.models import Line, Method, Revision, Style, Substitute
from recipes.services.recipes import start_revision
from recipes.services.substitutes import approve_substitute
from tests.make import user
from tests.planning.workbooks import Sheets, everything, imported, outcomes, problems, small

pytestmark = pytest.mark.django_db

STATISTICS = Path(__file__).resolve().parents[3] / "fixtures" / "style_statistics.csv"
_SAID = {
    "Stand (min)": 20,
    "Stand from (°C)": 95,
    "Stand to (°C)": 80,
    "First wort counts as (min)": 20,
    "Carbonation (volumes)": 2.4,
    "Heavy bottles": "yes",
    "Mash water (L/kg)": 3,
    "Grain temperature (°C)": 18,
    "Attenuation (%)": 77,
}


def full() -> Sheets:
    """Return a producer whose recipe says everything that it may."""
    sheets = small()
    sheets["Items"] += [
        {**sheets["Items"][1], "Code": "HOP-2", "Name": "Second hop"},
        {**sheets["Items"][2], "Code": "YEAST-2", "Name": "Second yeast"},
    ]
    sheets["Hops"].append({**sheets["Hops"][0], "Item": "HOP-2"})
    sheets["Yeasts"].append({**sheets["Yeasts"][0], "Item": "YEAST-2"})
    sheets["Methods"][0] |= _SAID
    sheets["Lines"][1] |= {"Role": "Move time", "Least minutes": 45, "Most minutes": 60}
    late = {"Minutes": 15, "Role": "Absorb", "Least minutes": None, "Most minutes": None}
    sheets["Lines"].append({**sheets["Lines"][1], **late, "Amount": 10})
    whole = {"Recipe": "PALE", "Method": "All-grain", "Line item": "HOP", "Item": "HOP-2"}
    yeast = {"Recipe": "PALE", "Line item": "YEAST", "Item": "YEAST-2"}
    sheets["Substitutes"] = [{**whole, "Ratio": 0.9, "Note": "softer"}, yeast]
    return sheets


def test_a_method_and_its_lines_say_all_that_the_sheets_hold() -> None:
    imported(full())
    method = Method.objects.get()
    assert (method.stand_minutes, method.stand_from_c, method.stand_to_c) == (20, 95, 80)
    assert (method.first_wort_minutes, method.attenuation) == (20, 0.77)
    assert (method.carbonation_volumes, method.mash_l_per_kg) == (2.4, 3)
    assert (method.grain_temperature_c, method.heavy_bottles) == (18, True)
    line = Line.objects.get(position=2)
    assert (line.role, line.least_minutes, line.most_minutes) == ("move_time", 45, 60)


def test_a_substitute_of_an_item_stands_for_each_line_of_that_item_and_for_a_yeast() -> None:
    imported(full())
    named = Substitute.objects.order_by("line__position", "pk")
    said = set(named.values_list("line__position", "yeast__item__code", "item__code", "ratio"))
    assert said == {
        (2, None, "HOP-2", 0.9),
        (3, None, "HOP-2", 0.9),
        (None, "YEAST", "YEAST-2", 1.0),
    }
    assert {each.approved_by for each in named} == {user()}


def test_all_of_it_twice_changes_nothing() -> None:
    imported(full())
    before, written = everything(), History.objects.count()
    again = imported(full())
    assert outcomes(again, "unchanged") == {sheet: len(each) for sheet, each in full().items()}
    assert everything() == before
    assert History.objects.count() == written + 1  # that it was imported again


@pytest.mark.parametrize(
    ("sheet", "change"),
    [
        ("Substitutes", {"Ratio": 0.8}),
        ("Methods", {"Stand (min)": 10}),
        ("Methods", {"Attenuation (%)": 70}),
    ],
)
def test_what_an_offered_revision_says_otherwise_needs_a_new_revision(sheet, change) -> None:
    imported(full())
    sheets = full()
    sheets[sheet][0] |= change
    (problem,) = problems(sheets)
    assert problem["sheet"] == "Recipes"
    start_revision(by=user(), recipe=Revision.objects.get().recipe)
    del sheets["Kits"], sheets["Kit parts"], sheets["Demand"]
    imported(sheets)
    newest = Revision.objects.order_by("number").last()
    assert newest is not None
    stood = newest.methods.get().lines.get(position=2).substitutes.get()
    assert stood.ratio == (0.8 if sheet == "Substitutes" else 0.9)


def test_a_workbook_that_says_nothing_of_substitutes_leaves_those_that_stand() -> None:
    sheets = full()
    del sheets["Substitutes"], sheets["Kits"], sheets["Kit parts"], sheets["Demand"]
    sheets["Recipes"][0]["State"] = "Draft"
    imported(sheets)
    line = Line.objects.select_related("method__revision", "item").get(position=2)
    approve_substitute(by=user(), stands_for=line, item=Item.objects.get(code="HOP-2"))
    assert "Recipes" not in outcomes(imported(sheets), "changed")
    sheets["Lines"][0]["Amount"] = 5
    assert outcomes(imported(sheets), "changed")["Recipes"] == 1
    assert Substitute.objects.get().line == Line.objects.get(position=2)


def test_a_draft_loses_the_substitutes_that_a_workbook_no_longer_names() -> None:
    sheets = full()
    del sheets["Kits"], sheets["Kit parts"], sheets["Demand"]
    sheets["Recipes"][0]["State"] = "Draft"
    imported(sheets)
    del sheets["Substitutes"][0]
    imported(sheets)
    assert Substitute.objects.get().item.code == "YEAST-2"


@pytest.mark.parametrize(
    "wrong",
    [
        {"Line item": "BOX"},
        {"Method": "Extract"},
        {"Item": "NOWHERE"},
        {"Recipe": "DARK"},
        {"Ratio": 0},
    ],
)
def test_a_substitute_of_nothing_known_is_named(wrong) -> None:
    sheets = full()
    sheets["Substitutes"][0] |= wrong
    assert ("Substitutes", 2) in [(each["sheet"], each["row"]) for each in problems(sheets)]


def test_a_substitute_that_cannot_stand_there_is_refused_with_its_recipe() -> None:
    sheets = full()
    sheets["Substitutes"][0]["Item"] = "MALT"
    (problem,) = problems(sheets)
    assert problem["sheet"] == "Recipes"
    assert "not of one kind" in problem["what"]


def test_the_published_list_of_styles_comes_as_it_is_and_twice_changes_nothing() -> None:
    result = imported(STATISTICS.read_bytes())
    assert outcomes(result, "new") == {"Styles": 30}
    style = Style.objects.get(code="18B")
    assert (style.name, style.og_min, style.abv_max) == ("American Pale Ale", 1.045, 6.2)
    assert Style.objects.get(code="6A").name == "Märzen"
    written = History.objects.count()
    assert outcomes(imported(STATISTICS.read_bytes()), "unchanged") == {"Styles": 30}
    assert History.objects.count() == written + 1


def test_styles_may_be_a_sheet_with_titles_for_people() -> None:
    style = {"Code": "P1", "Name": "House pale", "OG from": 1.04, "OG to": 1.05}
    style |= {"FG from": 1.008, "FG to": 1.014, "IBU from": 20, "IBU to": 30}
    style |= {"SRM from": 4, "SRM to": 9, "ABV from (%)": 4, "ABV to (%)": 5}
    sheets = {"Styles": [style]}
    imported(sheets)
    assert Style.objects.get().ibu_max == 30
    style["IBU from"] = 40
    (problem,) = problems(sheets)
    assert "IBU of House pale" in problem["what"]
    style |= {"IBU from": 15, "Name": "House bitter"}
    assert outcomes(imported(sheets), "changed") == {"Styles": 1}
    assert Style.objects.get().name == "House bitter"
