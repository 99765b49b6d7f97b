"""The demo producer: its workbook goes in whole, and its beers are what they say."""

from __future__ import annotations

import csv
from datetime import timedelta

import pytest

from inventory.models import Analysis, AnalysisKind, Lot, LotStatus
from inventory.queries.verify import stock_differences
from planning.models import Demand
from recipes.models import Kit, Revision, RevisionState
from recipes.queries.figures import figures_of
from tests.planning.workbooks import FERNHOLLOW, imported, outcomes
from tests.reference.published import rows

pytestmark = pytest.mark.django_db
STYLES = FERNHOLLOW.with_name("style_statistics.csv")


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
