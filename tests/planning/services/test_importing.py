"""One workbook goes into all the books at once, or nothing of it does."""

from __future__ import annotations

import csv
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.apps import apps
from django.conf import LazySettings

from boxwort.accounts.models import History, SiteSettings
from boxwort.jobs.models import Job, JobState
from boxwort.quantities import MG_PER_KG
from inventory.models import (
    Analysis,
    AnalysisKind,
    HopSpec,
    Item,
    Lot,
    LotStatus,
    PlaceTemperature,
    Supplier,
)
from inventory.queries.verify import stock_differences
from inventory.services.lots import count_lot, release_lot
from planning.models import Demand, PurchaseLine
from planning.services.importing import (
    ImportResult,
    import_workbook,
    shift_for,
    workbook_problems,
)
from planning.services.uploads import ask_import
from planning.tasks import import_workbook as import_task
from recipes.models import Kit, Revision, RevisionState
from recipes.queries.figures import figures_of
from recipes.services.recipes import start_revision
from tests.make import key, refused, user
from tests.planning.workbooks import AS_OF, FERNHOLLOW, Sheets, small, xlsx
from tests.reference.published import rows

pytestmark = pytest.mark.django_db
STYLES = FERNHOLLOW.with_name("style_statistics.csv")


def imported(sheets: Sheets | bytes, **how: Any) -> ImportResult:
    content = sheets if isinstance(sheets, bytes) else xlsx(sheets)
    wanted = {"by": user(), "name": "stock.xlsx", "key": key(), **how}
    return import_workbook(content=content, **wanted)


def problems(sheets: Sheets) -> list[dict[str, Any]]:
    return workbook_problems(by=user(), content=xlsx(sheets), name="stock.xlsx")


def everything() -> dict[str, int]:
    """Count the rows of every table but those that say what was asked and done."""
    told = {"history", "request", "job"}
    return {
        model._meta.label: model._default_manager.count()
        for model in apps.get_models()
        if model._meta.model_name not in told
    }


def outcomes(result: ImportResult, outcome: str) -> dict[str, int]:
    counts = {sheet: count.as_json()[outcome] for sheet, count in result.counts.items()}
    return {sheet: number for sheet, number in counts.items() if number}


def test_the_demo_producer_is_imported_whole_and_its_ledger_verifies() -> None:
    result = imported(FERNHOLLOW.read_bytes())
    new = outcomes(result, "new")
    assert new["Recipes"] >= 8
    assert new["Kits"] >= 14
    assert new["Items"] >= 60
    assert new["Lots"] >= 80
    days = Demand.objects.values_list("wanted_on", flat=True)
    assert len({day - timedelta(days=day.weekday()) for day in days}) == 12
    assert stock_differences() == []
    assert not Kit.objects.filter(offered=False).exists()
    assert set(Lot.objects.values_list("status", flat=True)) == {
        LotStatus.RELEASED,
        LotStatus.QUARANTINE,
        LotStatus.ON_HOLD,
    }
    assert set(outcomes(imported(FERNHOLLOW.read_bytes()), "unchanged")) == set(result.counts)


def test_the_demo_beers_are_of_their_style_and_its_twins_are_the_same_beer() -> None:
    imported(FERNHOLLOW.read_bytes())
    with STYLES.open(encoding="utf-8", newline="") as file:
        styles = list(csv.DictReader(file))
    offered = Revision.objects.filter(state=RevisionState.OFFERED)
    for revision in offered.select_related("recipe"):
        style = next(row for row in styles if row["name"].startswith(revision.recipe.style))
        beers = [figures_of(method) for method in revision.methods.all()]
        for beer in beers:
            for name in ("og", "fg", "ibu", "srm", "abv"):
                value = round(getattr(beer, name).value, 4)
                limits = float(style[f"{name}_min"]), float(style[f"{name}_max"])
                assert limits[0] <= value <= limits[1], (revision.recipe.name, name, value)
        first, second = beers
        assert abs(first.og.value - second.og.value) <= 0.002
        assert abs(first.fg.value - second.fg.value) <= 0.002
        assert abs(first.ibu.value - second.ibu.value) <= 2
        assert abs(first.abv.value - second.abv.value) <= 0.3
        assert abs(first.srm.value - second.srm.value) <= max(2, 0.1 * first.srm.value)


def test_the_demo_hops_have_the_alpha_acid_that_their_growers_publish() -> None:
    """Ranges read in the sources that the table names, mark S."""
    imported(FERNHOLLOW.read_bytes())
    published = {f"{row['variety']} pellets": row for row in rows("hop_keeping")}
    fresh = Analysis.objects.filter(kind=AnalysisKind.ALPHA, method="certificate")
    known = fresh.filter(lot__item__name__in=published).select_related("lot__item")
    assert len(known) >= 8
    for analysis in known:
        row = published[analysis.lot.item.name]
        alpha = round(analysis.value * 100, 6)
        assert float(row["alpha_min"]) <= alpha <= float(row["alpha_max"]), analysis.lot.code


def test_every_sheet_reaches_its_books() -> None:
    result = imported(small())
    assert outcomes(result, "new") == {
        sheet: len(each) for sheet, each in small().items() if sheet != "About"
    }
    site = SiteSettings.objects.get()
    assert (site.producer, site.currency) == ("Hollow Kits", "EUR")
    assert Item.objects.get(code="MALT").malt.points_l_per_kg == pytest.approx(
        38 * 8.3454, rel=1e-5
    )
    assert HopSpec.objects.get().planning_alpha == 0.09
    assert list(PlaceTemperature.objects.values_list("temperature_c", flat=True)) == [12.0]
    malt = Lot.objects.get(code="MALT-1")
    assert (malt.stock.on_hand, malt.status) == (500 * MG_PER_KG, LotStatus.RELEASED)
    assert (malt.cost_amount, malt.cost_quantity) == (1_000_000, 500 * MG_PER_KG)
    assert Analysis.objects.get().value == 0.095
    assert Kit.objects.get().offered
    assert Demand.objects.get().wanted_on == date(2026, 3, 9)  # the Monday of the week
    assert PurchaseLine.objects.get().quantity == 50 * MG_PER_KG


def test_the_same_workbook_twice_doubles_nothing_and_changes_nothing() -> None:
    imported(small())
    before, written = everything(), History.objects.count()
    again = imported(small())
    assert outcomes(again, "unchanged") == {sheet: len(each) for sheet, each in small().items()}
    assert everything() == before
    assert History.objects.count() == written + 1  # that it was imported again


def test_one_request_is_answered_once_and_its_key_serves_no_other_workbook() -> None:
    first = imported(small(), key="one")
    assert imported(small(), key="one") == first
    other = small()
    other["Suppliers"][0]["Name"] = "Another farm"
    with refused("key-used-for-another-request"):
        imported(other, key="one")


def test_a_catalogue_row_that_changed_is_changed_with_history() -> None:
    imported(small())
    sheets = small()
    sheets["Suppliers"][0]["Name"] = "The old farm"
    sheets["Hops"][0]["Planning alpha (%)"] = 8
    sheets["Price breaks"][0]["Price per pack"] = 37
    result = imported(sheets)
    assert outcomes(result, "changed") == {
        "Hops": 1,
        "Items": 1,
        "Suppliers": 1,
        "Offers": 1,
        "Price breaks": 1,
    }
    supplier = Supplier.objects.get()
    change = History.objects.get(thing="inventory.supplier", action="changed")
    assert (change.thing_id, change.before) == (supplier.pk, {"name": "The farm"})


def test_a_lot_that_stands_is_left_alone_and_one_that_differs_is_to_be_counted() -> None:
    imported(small())
    lot = Lot.objects.get(code="MALT-1")
    count_lot(
        by=user(),
        lot=lot,
        place=lot.balances.get(holds_stock=True).place,
        counted=400 * MG_PER_KG,
        occurred_on=AS_OF,
        key=key(),
        reason="A sack was torn.",
    )
    assert "Lots" not in outcomes(imported(small()), "changed")
    assert Lot.objects.get(code="MALT-1").stock.on_hand == 400 * MG_PER_KG
    sheets = small()
    sheets["Lots"][0]["Amount"] = 400
    (problem,) = problems(sheets)
    assert (problem["sheet"], problem["cell"]) == ("Lots", "C2")
    assert "500.000 kg" in problem["what"]
    assert "count" in problem["remedy"]


def test_an_offered_recipe_does_not_change_but_a_new_revision_of_it_does() -> None:
    imported(small())
    sheets = small()
    sheets["Lines"][0]["Amount"] = 5
    (problem,) = problems(sheets)
    assert problem["sheet"] == "Recipes"
    assert "new revision" in problem["remedy"]
    old = Revision.objects.get()
    start_revision(by=user(), recipe=old.recipe)
    del sheets["Kits"], sheets["Kit parts"], sheets["Demand"]
    result = imported(sheets)
    assert outcomes(result, "changed")["Recipes"] == 1
    old, new = Revision.objects.order_by("number")
    assert (old.state, new.state) == (RevisionState.OFFERED, RevisionState.OFFERED)
    assert new.methods.get().lines.get(position=1).quantity == 5 * MG_PER_KG


def test_a_draft_is_rewritten_and_taken_on_to_the_state_that_is_wanted() -> None:
    sheets = small()
    del sheets["Kits"], sheets["Kit parts"], sheets["Demand"]
    for state in ("Draft", "Trial", "Offered"):
        sheets["Recipes"][0]["State"] = state
        sheets["Lines"][0]["Amount"] += 0.1
        imported(sheets)
        assert Revision.objects.get().state == state.lower()


def test_rows_of_earlier_workbooks_may_be_named() -> None:
    imported(small())
    more = {
        "Demand": [{"Kit": "KIT", "Wanted on": date(2026, 3, 20), "Kits": 3, "Source": "Order"}],
        "Analyses": [
            {
                "Lot": "HOP-1",
                "Measured": "Alpha acid",
                "Value": 8.9,
                "Unit": "%",
                "Sampled": date(2026, 2, 20),
            }
        ],
    }
    assert outcomes(imported(more), "new") == {"Demand": 1, "Analyses": 1}
    more["Analyses"][0]["Value"] = 8.5
    (problem,) = problems(more)
    assert (problem["cell"], "supersedes" in problem["remedy"]) == ("C2", True)


def extra(sheet: str, **row: Any) -> Callable[[Sheets], None]:
    """Return a change: the first row of a sheet once more, with other values."""

    def change(sheets: Sheets) -> None:
        sheets[sheet].append({**sheets[sheet][0], **row})

    return change


def first(sheet: str, **row: Any) -> Callable[[Sheets], None]:
    def change(sheets: Sheets) -> None:
        sheets[sheet][0].update(row)

    return change


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


def test_checking_changes_nothing() -> None:
    user()
    before = everything()
    assert problems(small()) == []
    assert everything() == before


def test_a_workbook_is_shifted_by_whole_weeks_to_be_as_fresh_as_it_says() -> None:
    content = xlsx(small())
    days = shift_for(content, AS_OF + timedelta(days=17))
    assert days == 14
    imported(content, shift_days=days)
    assert Lot.objects.get(code="HOP-1").received_on == date(2026, 2, 16)
    assert Demand.objects.get().wanted_on == date(2026, 3, 23)
    assert shift_for(content, AS_OF + timedelta(days=80)) == 14  # as it stands in the books


def test_a_lot_on_hold_keeps_its_reason() -> None:
    sheets = small()
    sheets["Lots"][0] |= {"Status": "On hold", "Status reason": "It smells."}
    imported(sheets)
    lot = Lot.objects.get(code="MALT-1")
    assert (lot.status, lot.status_reason) == (LotStatus.ON_HOLD, "It smells.")
    release_lot(by=user(), lot=lot, expected=lot.version)
    assert outcomes(imported(sheets), "unchanged")["Lots"] == 2


def sent(content: bytes, settings: LazySettings, folder: Path) -> Job:
    settings.MEDIA_ROOT = folder
    return ask_import(by=user(), name="stock.xlsx", content=content)


def test_a_job_imports_a_workbook_once_and_says_what_it_did(
    settings: LazySettings, tmp_path: Path
) -> None:
    job = sent(xlsx(small()), settings, tmp_path)
    import_task(job.pk)
    import_task(job.pk)
    job.refresh_from_db()
    assert job.state == JobState.DONE
    assert job.result["problems"] == []
    assert job.result["counts"]["Lots"] == {"new": 2, "changed": 0, "unchanged": 0}
    total = sum(len(each) for each in small().values())
    assert (job.progress, job.total) == (total, total)
    assert Lot.objects.count() == 2


def test_a_job_that_finds_problems_ends_with_them_and_writes_nothing(
    settings: LazySettings, tmp_path: Path
) -> None:
    sheets = small()
    extra("Lots", Code="X-1", Packaged=date(2026, 2, 3))(sheets)
    job = sent(xlsx(sheets), settings, tmp_path)
    import_task(job.pk)
    job.refresh_from_db()
    assert job.state == JobState.DONE
    assert [problem["row"] for problem in job.result["problems"]] == [4]
    assert not Lot.objects.exists()


def test_an_upload_that_is_gone_or_is_no_workbook_is_refused(
    settings: LazySettings, tmp_path: Path
) -> None:
    with refused("not-a-workbook"):
        sent(b"Code;Amount", settings, tmp_path)
    job = sent(xlsx(small()), settings, tmp_path)
    for file in tmp_path.rglob("*.xlsx"):
        file.unlink()
    import_task(job.pk)
    job.refresh_from_db()
    assert job.state == JobState.FAILED
    assert "Send it again." in job.error
