"""A workbook says how items are ordered, when the house works, and what kits hold of each other."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from boxwort.accounts.models import DayOff
from boxwort.accounts.queries import site_settings
from inventory.models import Contract, CropYear, Item, LotRule, Supplier
from recipes.models import Contents, Kit, Part
from tests.planning.workbooks import Sheets, imported, outcomes, problems, small

pytestmark = pytest.mark.django_db
PACK = {"Pack": 25, "Pack unit": "kg"}
DEAL = {"Code": "C-1", "Supplier": "FARM", "Item": "MALT", "Amount": 2000, "Unit": "kg"}


def ordered() -> Sheets:
    """Return a producer with every rule of ordering said."""
    sheets = small()
    sheets["About"][0] |= {"Working days": "Mon-Fri", "Kits per day": 40}
    sheets["Days off"] = [{"Day": date(2026, 12, 25), "Name": "Christmas"}]
    malt = {"Lot rule": "A fixed quantity", "Fixed quantity": 500, "Fixed quantity unit": "kg"}
    sheets["Items"][0] |= malt | {"Order cost": 25, "Quarantine (days)": 2}
    sheets["Items"][1] |= {"Lot rule": "period", "Period (days)": 90}
    sheets["Suppliers"][0] |= {"Order days": "Tue Thu", "Lead in working days": "yes"}
    sheets["Contracts"] = [
        {**DEAL, **PACK, "Price per pack": 36, "From": date(2026, 1, 1), "Until": date(2026, 9, 1)}
    ]
    sheets["Crops"] = [
        {"Item": "HOP", "Year": 2026, "Sold from": date(2026, 9, 15), "Planning alpha (%)": 8.5}
    ]
    sheets["Kits"][0] |= {
        "Grain part": "Added at dispatch",
        "First packed": date(2026, 3, 1),
        "Last packed": date(2026, 5, 1),
        "Last sold": date(2026, 6, 1),
        "Least kits of a run": 6,
        "In multiples of": 3,
    }
    return sheets


def test_a_workbook_says_how_everything_is_ordered_and_twice_it_changes_nothing() -> None:
    imported(ordered())
    malt, farm, kit = Item.objects.get(code="MALT"), Supplier.objects.get(), Kit.objects.get()
    assert (malt.lot_rule, malt.fixed_quantity) == (LotRule.FIXED, 500_000_000)
    assert (malt.order_cost, malt.quarantine_days) == (250_000, 2)
    assert Item.objects.get(code="HOP").period_days == 90
    assert (farm.order_weekdays, farm.counts_working_days) == ("13", True)
    deal = Contract.objects.get()
    assert (deal.quantity, deal.pack_price) == (2_000_000_000, 360_000)
    assert CropYear.objects.get().planning_alpha == pytest.approx(0.085)
    assert (kit.grain_part, kit.minimum_kits, kit.multiple_kits) == (Part.DISPATCH, 6, 3)
    assert kit.last_sale_on == date(2026, 6, 1)
    site = site_settings()
    assert (site.working_weekdays, site.kits_per_day) == ("01234", 40)
    assert DayOff.objects.get().name == "Christmas"
    again = imported(ordered())
    assert set(outcomes(again, "unchanged")) == set(again.counts)


def test_a_hop_pack_is_offered_before_the_kit_that_stands_above_it() -> None:
    sheets = small()
    sheets["Items"].append({**sheets["Items"][4], "Code": "HOPS", "Name": "Hop pack"})
    sheets["Kits"].append({**sheets["Kits"][0], "Item": "HOPS", "Contents": "Hop pack"})
    held = {"Kit": "KIT", "Item": "HOPS", "Amount": 1, "Unit": "each"}
    sheets["Kit parts"].append({**held, "Part": "Added at dispatch"})
    imported(sheets)
    pack, kit = Kit.objects.get(item__code="HOPS"), Kit.objects.get(item__code="KIT")
    assert (pack.contents, pack.offered, kit.offered) == (Contents.HOP_PACK, True, True)
    assert not kit.bill.exclude(role="").exists()
    assert pack.target_ibu == kit.target_ibu


def _wrong(sheet: str, **cells: object) -> Callable[[Sheets], None]:
    def change(sheets: Sheets) -> None:
        sheets[sheet][0].update(cells)

    return change


@pytest.mark.parametrize(
    ("change", "sheet", "words"),
    [
        (_wrong("Suppliers", **{"Order days": "Moonday"}), "Suppliers", "no list of weekdays"),
        (_wrong("Items", **{"Fixed quantity": None}), "Items", "a number and a unit"),
        (_wrong("Items", **{"Lot rule": "By feel"}), "Items", "not one of the words"),
        (_wrong("Contracts", Pack=24), "Contracts", "does not sell"),
        (_wrong("Contracts", Unit="L"), "Contracts", "is no unit of mass"),
        (_wrong("Contracts", Supplier="NOBODY"), "Contracts", "nor in the books"),
        (_wrong("Crops", Item="MALT"), "Crops", "is not a hop"),
        (_wrong("Kits", **{"Last sold": date(2026, 4, 1)}), "Kits", "no longer sold"),
        (_wrong("Days off", Day="Christmas"), "Days off", "not a date"),
    ],
)
def test_what_cannot_be_is_named_by_its_sheet(
    change: Callable[[Sheets], None], sheet: str, words: str
) -> None:
    sheets = ordered()
    change(sheets)
    found = problems(sheets)
    assert {problem["sheet"] for problem in found} == {sheet}
    assert words in " ".join(problem["what"] for problem in found)


def test_kits_that_hold_each_other_are_refused() -> None:
    sheets = small()
    sheets["Items"].append({**sheets["Items"][4], "Code": "OTHER", "Name": "Other kit"})
    sheets["Kits"].append({**sheets["Kits"][0], "Item": "OTHER"})
    held = {"Amount": 1, "Unit": "each"}
    sheets["Kit parts"] += [
        {"Kit": "KIT", "Item": "OTHER", **held},
        {"Kit": "OTHER", "Item": "KIT", **held},
    ]
    assert "holds" in " ".join(problem["what"] for problem in problems(sheets))
