"""The demo producer: its workbook goes in whole, and its beers are what they say."""

from __future__ import annotations

from collections import Counter
from datetime import timedelta

import pytest

from boxwort.accounts.models import DayOff
from boxwort.weekdays import EVERY_DAY
from inventory.models import (
    Analysis,
    AnalysisKind,
    Contract,
    CropYear,
    HopForm,
    Item,
    ItemKind,
    Lot,
    LotRule,
    LotStatus,
    Supplier,
)
from inventory.queries.verify import stock_differences
from planning.models import Forecast
from recipes.brewing.roles import HopRole, MethodKind, Use
from recipes.models import (
    Contents,
    Kit,
    KitPart,
    Line,
    Method,
    Part,
    Revision,
    RevisionState,
    Substitute,
)
from recipes.queries.bills import bill_of
from recipes.queries.brew_day import kit_brew_day
from recipes.queries.figures import figures_of
from recipes.queries.recipes import recipe_detail
from recipes.queries.styles import style_check_of
from tests.planning.workbooks import FERNHOLLOW, imported, outcomes
from tests.reference.published import rows
from tests.remembering import remembered

pytestmark = [pytest.mark.django_db, pytest.mark.xdist_group("fernhollow")]  # one import for all
STYLES = FERNHOLLOW.with_name("style_statistics.csv")
ON_TRIAL = {"ibu"}  # what of the beer that is still on trial its style does not allow
ROLES = set(HopRole)
WITH_A_TIN = "KIT-BITTER-EX-19"


@remembered
def imported_with_styles() -> None:
    imported(STYLES.read_bytes(), name=STYLES.name)
    imported(FERNHOLLOW.read_bytes())


def test_the_demo_producer_is_imported_whole_and_its_ledger_verifies() -> None:
    result = imported(FERNHOLLOW.read_bytes())
    new = outcomes(result, "new")
    assert new["Recipes"] >= 8
    assert new["Kits"] >= 14
    assert new["Items"] >= 60
    assert new["Lots"] >= 80
    days = Forecast.objects.values_list("week_on", flat=True)
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
    imported_with_styles()
    for revision in Revision.objects.select_related("recipe"):
        for method in revision.methods.all():
            check = style_check_of(revision.recipe.style, figures_of(method))
            assert check is not None, revision
            outside = {row.figure for row in check.outside}
            assert outside == (ON_TRIAL if revision.state == RevisionState.TRIAL else set()), method
        detail = recipe_detail(revision.recipe.code, revision.number)
        assert all(row.parity and row.parity.holds for row in detail.twins), revision
        assert recipe_detail(revision.recipe.code, revision.number).warnings == (), revision


def test_the_beer_on_trial_is_not_yet_bitter_enough_for_its_style() -> None:
    imported_with_styles()
    method = Method.objects.get(revision__state=RevisionState.TRIAL)
    check = style_check_of(method.revision.recipe.style, figures_of(method))
    assert check is not None
    (row,) = check.outside
    assert (row.figure, row.low) == ("ibu", 20)
    assert -2 < row.distance < -1


def test_the_sugar_in_each_demo_kit_gives_the_carbonation_its_method_wants() -> None:
    imported(FERNHOLLOW.read_bytes())
    for kit in Kit.objects.filter(contents=Contents.KIT).select_related("method"):
        day = kit_brew_day(kit.pk, bill_of(kit.pk))
        wanted = kit.method.carbonation_volumes
        assert day.missing == ()
        assert day.carbonation is not None
        assert wanted is not None
        assert abs(day.carbonation.value - wanted) < 0.02, kit
        assert day.carbonation.value <= 3.0  # no bottle of the house is at its limit
        assert (day.strike is None) == (kit.method.kind == MethodKind.EXTRACT)


def test_a_visitor_of_the_demo_meets_every_kind_of_line_and_of_paper() -> None:
    """Roles, uses, stands, tins, substitutes, laboratory units, harvest values, forms."""
    imported(FERNHOLLOW.read_bytes())
    lines = Line.objects.exclude(role="")
    assert set(lines.values_list("role", flat=True)) >= ROLES
    assert {Use.FIRST_WORT, Use.WHIRLPOOL} <= set(lines.values_list("use", flat=True))
    absorbing = Counter(lines.filter(role=HopRole.ABSORB).values_list("method", flat=True))
    assert max(absorbing.values()) == 2
    assert set(
        Method.objects.filter(stand_minutes__isnull=False).values_list(
            "revision__recipe__code", flat=True
        )
    ) == {"IPA"}
    replaced = {row.item.kind for row in Substitute.objects.select_related("item")}
    assert replaced >= {ItemKind.HOP, ItemKind.GRAIN, ItemKind.EXTRACT, ItemKind.YEAST}
    units = set(Analysis.objects.exclude(given_unit="").values_list("given_unit", flat=True))
    assert units == {"EBC", "%", "°WK"}
    harvest = Analysis.objects.get(at_harvest=True)
    indices = harvest.lot.analyses.filter(kind=AnalysisKind.STORAGE_INDEX)
    assert indices.count() == 2
    assert Lot.objects.filter(form=HopForm.CONE, item__hop__form=HopForm.PELLET).exists()
    methods = Analysis.objects.filter(lot__code="CEN-26-01", kind=AnalysisKind.ALPHA)
    assert set(methods.values_list("method", flat=True)) == {"certificate", "hplc"}


def test_a_planner_of_the_demo_meets_every_kind_of_kit_and_of_buying() -> None:
    """A hop pack added at dispatch, grain crushed to order, a season, contracts and crops."""
    imported(FERNHOLLOW.read_bytes())
    pack = Kit.objects.get(contents=Contents.HOP_PACK)
    held = KitPart.objects.get(item=pack.item)
    assert held.part == Part.DISPATCH
    assert not held.kit.bill.exclude(role="").exists()
    assert held.kit.target_ibu == pack.target_ibu
    crushed = Kit.objects.get(grain_part=Part.DISPATCH)
    assert set(crushed.bill.filter(item__kind=ItemKind.GRAIN).values_list("part", flat=True)) == {
        Part.DISPATCH
    }
    assert Kit.objects.filter(last_sale_on__isnull=False).count() == 1
    assert Kit.objects.filter(multiple_kits__gt=1).count() == 3
    assert set(Item.objects.values_list("lot_rule", flat=True)) == set(LotRule.values)
    assert CropYear.objects.count() == Contract.objects.count() == 2
    assert Supplier.objects.exclude(order_weekdays=EVERY_DAY).count() == 8
    assert DayOff.objects.count() == 2


def test_a_tin_of_the_demo_is_packed_whole_and_dry_extract_makes_up_for_it() -> None:
    imported(FERNHOLLOW.read_bytes())
    rows = {row.item_code: row for row in bill_of(Kit.objects.get(item__code=WITH_A_TIN).pk)}
    tin, dry = rows["EX-LAMB"], rows["EX-DPALE"]
    assert tin.packed == Item.objects.get(code="EX-LAMB").container_quantity
    assert tin.packed > tin.exact
    assert dry.packed < dry.exact
    assert "takes back" in dry.reason


def test_yeast_stands_in_the_demo_only_for_yeast_of_its_strain_group() -> None:
    imported(FERNHOLLOW.read_bytes())
    yeasts = Substitute.objects.filter(yeast__isnull=False)
    found = yeasts.select_related("item__yeast", "yeast__item__yeast")
    assert found
    for row in found:
        assert row.yeast is not None
        assert row.item.yeast.strain_group == row.yeast.item.yeast.strain_group


def test_the_demo_hops_have_the_alpha_acid_that_their_growers_publish() -> None:
    """Ranges read in the sources that the table names, mark S."""
    imported(FERNHOLLOW.read_bytes())
    sheets = (row for row in rows("hop_alpha_ranges") if row["alpha_remaining_6mo_20C_min"])
    published = {f"{row['variety']} pellets": row for row in sheets}
    fresh = Analysis.objects.filter(kind=AnalysisKind.ALPHA, method="certificate")
    known = fresh.filter(lot__item__name__in=published).select_related("lot__item")
    assert len(known) >= 8
    for analysis in known:
        row = published[analysis.lot.item.name]
        alpha = round(analysis.value * 100, 6)
        assert float(row["alpha_min"]) <= alpha <= float(row["alpha_max"]), analysis.lot.code
