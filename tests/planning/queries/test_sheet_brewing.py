"""What a sheet keeps of bottling: by which rule it is primed, and the bottles it needs."""

from __future__ import annotations

import pytest

from boxwort.accounts.models import SiteSettings
from inventory.models import ItemKind
from planning.documents.priming import bottle_caution, priming_text
from planning.models import SheetRevision
from recipes.brewing.priming import PrimingRule
from recipes.brewing.roles import Use
from recipes.models import Revision
from tests.planning.make import store
from tests.recipes.make import Catalogue, line, malt, pale_ale, write_extract

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]


def wheat_beer(goods: Catalogue) -> Revision:
    """Return a draft that is primed beyond what usual bottles are made for."""
    revision = pale_ale(goods)
    write_extract(revision, goods, carbonation_volumes=4.5, heavy_bottles=True)
    return revision


def sheet_of(recipe=pale_ale) -> SheetRevision:
    store(recipe=recipe).reserved(2)
    return SheetRevision.objects.get()


def test_a_beer_for_heavy_bottles_says_so_on_its_sheet() -> None:
    content = sheet_of(wheat_beer).content
    assert content["heavy_bottles_for"] == 4.5
    assert "heavy bottles made for 4.5\u00a0volumes" in bottle_caution(content)
    said = priming_text(content, [], "metric")
    assert "of sucrose (table sugar)" in said
    assert "by stoichiometry" in said


def test_a_sheet_prints_the_rule_that_it_was_reckoned_by_whatever_the_house_does_later() -> None:
    SiteSettings.objects.update(priming_rule=PrimingRule.BREWING_TEXT.value)
    content = sheet_of(wheat_beer).content
    SiteSettings.objects.update(priming_rule=PrimingRule.STOICHIOMETRY.value)
    glucose = content["brew_day"]["priming"][0]
    # Draper: 3.7 g of glucose per litre and volume; the beer keeps 0.88 volumes at 20 C
    assert glucose["value"] == pytest.approx((4.5 - 0.88) * 3.7 * 20)
    assert "by the rule of brewing texts" in priming_text(content, [], "metric")


def sugared(goods: Catalogue) -> Revision:
    """Return a draft with its priming sugar in the box."""
    revision = pale_ale(goods)
    sugar = malt("SUGAR", ItemKind.SUGAR, points=384.0, family="sucrose", allergens=[])
    write_extract(revision, goods, line(sugar, Use.PRIMING, 330), heavy_bottles=True)
    return revision


def test_sugar_in_the_box_that_gives_more_than_was_asked_for_needs_heavy_bottles() -> None:
    made = store(recipe=sugared)
    sugar = made.kit.method.lines.get(use=Use.PRIMING).item
    made.lot(sugar, 10_000_000)
    made.reserved(2)
    content = SheetRevision.objects.get().content
    assert content["carbonation_volumes"] is None
    assert content["heavy_bottles_for"] == content["brew_day"]["carbonation"]["value"] > 4
    assert "needs heavy bottles" in bottle_caution(content)
