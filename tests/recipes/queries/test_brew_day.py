"""Brew-day figures: mash water, priming, and what they say when something is not said."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from boxwort.accounts.models import PRIMING_RULE_CHOICES, SiteSettings
from inventory.models import Item, ItemKind
from recipes.brewing.priming import PrimingRule
from recipes.brewing.roles import MethodKind, Use
from recipes.models import Method, Revision
from recipes.queries.brew_day import BrewDay, kit_brew_day, method_brew_days
from recipes.queries.kits import kit_detail
from recipes.services.methods import write_method, write_yeasts
from tests.recipes import make
from tests.recipes.make import Catalogue
from tests.recipes.trials import litres, method_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def goods() -> Catalogue:
    return make.catalogue()


def _sugar(family: str = "glucose_monohydrate") -> Item:
    return make.malt("SUGAR", ItemKind.SUGAR, points=384.0, family=family, allergens=[])


def _mashed(goods: Catalogue, *extra: Any, **facts: Any) -> Method:
    revision = make.draft()
    write_yeasts(by=make.developer(), revision=revision, items=[goods.ale_yeast])
    known = {"mash_temperature_c": 66.7, "mash_l_per_kg": 2.608, "grain_temperature_c": 21.1}
    return write_method(
        by=make.developer(),
        revision=revision,
        facts=make.method_facts(MethodKind.ALL_GRAIN, **(known | facts)),
        lines=[make.line(goods.pale_malt, Use.MASH, 5000), *make.pale_hops(goods, 20), *extra],
    )


def _day(method: Method) -> BrewDay:
    return method_brew_days([method.pk])[method.pk]


def test_a_mash_is_struck_as_the_book_says(goods):
    """Palmer, How to Brew, 1st ed., ch. 16.3: 1.25 qt/lb, 70 F to 152 F, 165.12 F."""
    day = _day(_mashed(goods))
    assert day.strike is not None
    assert day.strike.value * 9 / 5 + 32 == pytest.approx(165.12, abs=0.1)
    assert day.mash_water is not None
    assert day.mash_water.value == pytest.approx(5 * 2.608)
    assert day.first_runnings is not None
    assert day.absorbed is not None
    assert day.first_runnings.value == pytest.approx(5 * 2.608 - day.absorbed.value)


def test_grain_that_nobody_measured_is_as_warm_as_a_room(goods):
    day = _day(_mashed(goods, grain_temperature_c=None))
    assert day.strike is not None
    assert "20 C is taken" in day.strike.notes[0]


def test_a_mash_without_thickness_or_temperature_says_what_is_missing(goods):
    day = _day(_mashed(goods, mash_l_per_kg=None, mash_temperature_c=None))
    assert (day.strike, day.mash_water) == (None, None)
    assert "how much water" in day.missing[0]
    assert "how warm the mash rests" in day.missing[0]


def test_steeped_grain_keeps_water_and_is_not_struck(goods):
    day = _day(method_of(make.pale_ale(goods), MethodKind.EXTRACT))
    assert day.strike is None
    assert day.absorbed is not None
    assert day.absorbed.value == pytest.approx(0.3 * 1.0432, abs=1e-3)


def test_without_a_sugar_of_its_own_every_usual_sugar_is_reckoned(goods):
    day = _day(_mashed(goods, carbonation_volumes=2.4))
    assert [figure.name.split(", ", 1)[1] for figure in day.priming] == [
        "glucose, anhydrous",
        "glucose monohydrate",
        "sucrose",
    ]
    assert day.carbonation is None
    # 2.4 less the 0.88 that beer keeps at 20 C (Hibberd), 3.82 g/L of sucrose a volume
    assert day.priming[2].value == pytest.approx((2.4 - 0.88) * 3.82 * 20, rel=2e-3)


def test_the_sugar_of_the_recipe_gives_what_it_gives(goods):
    line = make.line(_sugar(), Use.PRIMING, 130)
    day = _day(_mashed(goods, line, carbonation_volumes=2.4))
    assert [figure.name for figure in day.priming] == ["Priming sugar, glucose monohydrate"]
    assert day.carbonation is not None
    assert day.carbonation.value == pytest.approx(0.88 + 130 / (4.42 * 20), rel=2e-3)


def test_a_sugar_of_no_known_kind_is_not_reckoned(goods):
    line = make.line(_sugar(family=""), Use.PRIMING, 130)
    day = _day(_mashed(goods, line))
    assert day.carbonation is None
    assert any("does not name" in sentence for sentence in day.missing)
    assert any("how much carbonation" in sentence for sentence in day.missing)


def test_more_than_bottles_hold_is_refused_in_words(goods):
    line = make.line(_sugar(), Use.PRIMING, 600)
    day = _day(_mashed(goods, line, carbonation_volumes=4.5))
    assert (day.priming, day.carbonation) == ((), None)
    assert any("burst bottles" in sentence for sentence in day.missing)


def test_lively_beer_in_heavy_bottles_is_primed_and_says_which_bottles(goods):
    line = make.line(_sugar(), Use.PRIMING, 330)
    day = _day(_mashed(goods, line, carbonation_volumes=4.5, heavy_bottles=True))
    assert day.priming[0].value == pytest.approx((4.5 - 0.88) * 4.42 * 20, rel=2e-3)
    assert day.carbonation is not None
    given = 0.88 + 330 / (4.42 * 20)
    assert day.carbonation.value == pytest.approx(given, rel=2e-3)
    assert day.heavy_bottles_for == pytest.approx(given, rel=2e-3)  # more than is wanted
    assert "how much carbonation" not in " ".join(day.missing)


@pytest.mark.parametrize(("volumes", "heavy"), [(2.4, True), (3.0, True), (3.5, False)])
def test_beer_that_usual_bottles_hold_needs_no_heavy_ones(goods, volumes, heavy):
    day = _day(_mashed(goods, carbonation_volumes=volumes, heavy_bottles=heavy))
    assert day.priming
    assert day.heavy_bottles_for is None


def test_the_rules_a_house_may_prime_by_are_those_of_the_arithmetic():
    assert [value for value, _ in PRIMING_RULE_CHOICES] == [rule.value for rule in PrimingRule]
    field = SiteSettings._meta.get_field("priming_rule")
    assert (field.choices, field.default) == (PRIMING_RULE_CHOICES, PrimingRule.STOICHIOMETRY)


def test_a_house_that_primes_by_brewing_texts_takes_their_sugar_and_says_so(goods):
    line = make.line(_sugar("glucose"), Use.PRIMING, 130)
    method = _mashed(goods, line, carbonation_volumes=2.4)
    before = _day(method)
    SiteSettings.objects.update(priming_rule=PrimingRule.BREWING_TEXT.value)
    day = _day(method)
    # Draper: 3.7 g of glucose per litre and volume
    assert day.priming[0].value == pytest.approx((2.4 - 0.88) * 3.7 * 20)
    assert day.priming[0].notes[0].startswith("By the rule of brewing texts")
    assert day.carbonation is not None
    assert day.carbonation.value == pytest.approx(0.88 + 130 / (3.7 * 20))
    # what the notes say of the other rule: 8 % less, or 9 % more
    assert day.priming[0].value / before.priming[0].value == pytest.approx(0.92, abs=5e-3)
    assert before.priming[0].value / day.priming[0].value == pytest.approx(1.09, abs=5e-3)


def _primed_kit(goods: Catalogue, volume: int) -> BrewDay:
    revision: Revision = make.draft()
    write_yeasts(by=make.developer(), revision=revision, items=[goods.ale_yeast])
    make.write_extract(
        revision, goods, make.line(_sugar(), Use.PRIMING, 130), carbonation_volumes=2.4
    )
    kit = make.offered_kit(make.offered(revision), "KIT-A", goods, volume=volume)
    return kit_brew_day(kit.pk, kit_detail("KIT-A").bill)


def test_a_kit_is_primed_by_what_is_in_its_box(goods):
    """At half the size half the sugar is in the box, rounded to the scale, for half the beer."""
    day = _primed_kit(goods, litres(10))
    assert day.carbonation is not None
    assert day.carbonation.value == pytest.approx(0.88 + 65 / (4.42 * 10), rel=2e-3)
    assert day.priming[0].terms[-1].value == 10


def test_a_kit_is_primed_by_the_rule_of_the_house(goods):
    SiteSettings.objects.update(priming_rule=PrimingRule.BREWING_TEXT.value)
    day = _primed_kit(goods, litres(10))
    assert day.carbonation is not None
    per_volume = 3.7 * 198.171 / 180.156  # of the monohydrate, by its mass
    assert day.carbonation.value == pytest.approx(0.88 + 65 / (per_volume * 10), rel=2e-3)


def test_two_methods_take_as_many_statements_as_one(goods):
    methods = list(make.pale_ale(goods).methods.all())
    counts = []
    for wanted in (methods[:1], methods):
        with CaptureQueriesContext(connection) as asked:
            method_brew_days([method.pk for method in wanted])
        counts.append(len(asked))
    assert counts[0] == counts[1]
