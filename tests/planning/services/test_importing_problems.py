"""Each bad row of a workbook is named, all of them at once, and nothing is left behind."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from boxwort.accounts.models import History
from tests.make import refused, user
from tests.planning.workbooks import Sheets, everything, extra, first, imported, problems, small

pytestmark = pytest.mark.django_db

BAD: dict[str, tuple[Callable[[Sheets], None], str, int]] = {
    "a second producer": (extra("About"), "About", 3),
    "a day that has not come": (first("About", **{"Dates as of": date(2999, 1, 7)}), "About", 2),
    "a kind nobody packs": (first("Items", Kind="Grane"), "Items", 2),
    "an item without its specification": (extra("Items", Code="RYE"), "Items", 7),
    "safety stock in a foreign unit": (
        first("Items", **{"Safety stock": 5, "Safety stock unit": "each"}),
        "Items",
        2,
    ),
    "a specification of nothing": (extra("Malts", Item="HOP"), "Malts", 3),
    "an impossible alpha": (first("Hops", **{"Planning alpha (%)": 140}), "Hops", 2),
    "a yeast without a dose": (first("Yeasts", **{"Dose (g/hL)": None}), "Items", 4),
    "a code with spaces": (extra("Suppliers", Code="THE FARM"), "Suppliers", 3),
    "an offer from nobody": (extra("Offers", Supplier="MILL"), "Offers", 3),
    "a price without an offer": (extra("Price breaks", Pack=10), "Price breaks", 3),
    "a place too hot to keep stock": (first("Places", **{"Temperature (°C)": 90}), "Places", 2),
    "a lot of nothing known": (extra("Lots", Code="X-1", Item="RYE"), "Lots", 4),
    "a lot in a foreign unit": (extra("Lots", Code="X-1", Unit="each"), "Lots", 4),
    "a lot received tomorrow": (extra("Lots", Code="X-1", Received=date(2026, 3, 3)), "Lots", 4),
    "a lot packaged after it came": (
        extra("Lots", Code="X-1", Packaged=date(2026, 2, 3)),
        "Lots",
        4,
    ),
    "a hold reason on a released lot": (
        extra("Lots", Code="X-1", **{"Status reason": "It smells."}),
        "Lots",
        4,
    ),
    "a lot named twice": (extra("Lots"), "Lots", 4),
    "alpha in degrees": (first("Analyses", Unit="°L"), "Analyses", 2),
    "alpha of a malt": (extra("Analyses", Lot="MALT-1"), "Analyses", 3),
    "a recipe without a method": (extra("Recipes", Code="DARK"), "Recipes", 3),
    "a boil that gains water": (first("Methods", **{"After the boil (L)": 30}), "Recipes", 2),
    "a line of a method nobody wrote": (extra("Lines", Method="Extract"), "Lines", 4),
    "grain in the kettle": (first("Lines", Use="Flame out"), "Recipes", 2),
    "a hop for a yeast": (extra("Yeast options", Item="HOP"), "Recipes", 2),
    "a kit of no recipe": (first("Kits", Recipe="DARK"), "Kits", 2),
    "a kit that is no kit": (extra("Kits", Item="BOX"), "Kits", 3),
    "a part of no kit": (extra("Kit parts", Kit="BOX"), "Kit parts", 3),
    "half a kit": (first("Demand", Kits=0.5), "Demand", 2),
    "demand told twice for a week": (extra("Demand", Week=date(2026, 3, 10)), "Demand", 3),
    "an order due before it was placed": (first("On order", Due=date(2026, 2, 1)), "On order", 2),
    "two suppliers of one order": (
        extra("On order", Item="HOP", Supplier="MILL"),
        "On order",
        3,
    ),
    "a sheet nobody knows": (lambda sheets: sheets.update(Lotz=[{"A": 1}]), "Lotz", 0),
    "a column nobody knows": (first("Items", Colour="brown"), "Items", 1),
}


@pytest.mark.parametrize("what", BAD)
def test_a_bad_row_is_named_and_nothing_is_left_behind(what: str) -> None:
    change, sheet, row = BAD[what]
    sheets = small()
    change(sheets)
    user()
    before, written = everything(), History.objects.count()
    with refused("workbook-has-problems") as caught:
        imported(sheets)
    found = caught.value.details["problems"]
    assert (sheet, row) in [(problem["sheet"], problem["row"]) for problem in found], found
    assert all(problem["what"] and problem["remedy"] for problem in found)
    assert everything() == before
    assert History.objects.count() == written


def test_all_bad_rows_are_named_at_once_and_each_once() -> None:
    sheets = small()
    first("Hops", **{"Planning alpha (%)": 140})(sheets)  # found when reading
    extra("Lots", Code="X-1", Item="RYE")(sheets)  # found when the sheets are put together
    extra("Lots", Code="X-2", Packaged=date(2026, 2, 3))(sheets)  # found by the stock room
    first("On order", Due=date(2026, 2, 1))(sheets)  # found by planning
    found = [(problem["sheet"], problem["row"]) for problem in problems(sheets)]
    assert found == [("Hops", 2), ("Lots", 4), ("Lots", 5), ("On order", 2)]


def test_every_obstacle_to_offering_is_named() -> None:
    sheets = small()
    first("Methods", **{"Boil (min)": 30})(sheets)
    sheets["Lines"][1]["Role"] = "Hold weight"
    whats = [problem["what"] for problem in problems(sheets) if problem["sheet"] == "Recipes"]
    assert any("absorbs" in what for what in whats)
    assert any("boils 60 minutes" in what for what in whats)
