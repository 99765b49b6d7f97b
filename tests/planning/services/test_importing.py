"""One workbook goes into all the books at once, or nothing of it does."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest
from django.conf import LazySettings

from boxwort.accounts.models import History, SiteSettings
from boxwort.jobs.models import Job, JobState
from boxwort.quantities import MG_PER_KG
from inventory.models import Analysis, HopSpec, Item, Lot, LotStatus, PlaceTemperature, Supplier
from inventory.services.lots import count_lot, release_lot
from planning.models import Forecast, PurchaseLine
from planning.services.importing import shift_for
from planning.services.uploads import ask_import
from planning.tasks import import_workbook as import_task
from recipes.models import Kit, Revision, RevisionState
from recipes.services.recipes import start_revision
from tests.make import key, refused, user
from tests.planning.workbooks import (
    AS_OF,
    everything,
    extra,
    imported,
    outcomes,
    problems,
    small,
    xlsx,
)

pytestmark = pytest.mark.django_db


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
    assert Forecast.objects.get().week_on == date(2026, 3, 9)  # the Monday of the week
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
        "Demand": [{"Kit": "KIT", "Week": date(2026, 3, 20), "Kits": 3}],
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
    assert Forecast.objects.get().week_on == date(2026, 3, 23)
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
