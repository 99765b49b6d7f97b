"""The demo producer's beers, drafted anew as extract: the converter on recipes that are sold."""

from __future__ import annotations

import pytest

from inventory.models import Item
from inventory.models.items import FERMENTABLE_KINDS
from recipes.brewing.convert import Draft, converted
from recipes.brewing.extract import Fermentable
from recipes.brewing.figures import Brew, figures
from recipes.brewing.power import SOUND_LINTNER
from recipes.brewing.roles import Family, FermentableKind, MethodKind, Use
from recipes.queries.contents import brew_of, method_content, methods_in_full
from tests.planning.workbooks import FERNHOLLOW, imported

pytestmark = [pytest.mark.django_db, pytest.mark.xdist_group("fernhollow")]  # one import for all


def stock() -> dict[str, Fermentable]:
    """Return what the producer has to brew with, by name."""
    return {
        item.name: Fermentable(
            name=item.name,
            kind=FermentableKind(item.kind),
            kg=0.0,
            use=Use.BOIL,
            points_l_per_kg=item.malt.points_l_per_kg,
            steep_points_l_per_kg=item.malt.steep_points_l_per_kg,
            colour_lovibond=item.malt.colour_lovibond,
            power_lintner=item.malt.power_lintner,
            fermentability=item.malt.fermentability,
            must_mash=item.malt.must_mash,
            family=Family(item.malt.family),
        )
        for item in Item.objects.filter(kind__in=FERMENTABLE_KINDS).select_related("malt")
    }


def all_grain_brews() -> dict[str, Brew]:
    return {
        method.revision.recipe.code: brew_of(method_content(method))
        for method in methods_in_full().filter(kind=MethodKind.ALL_GRAIN)
    }


@pytest.fixture
def beers() -> tuple[dict[str, Brew], tuple[Fermentable, ...]]:
    """Return the producer's all-grain brews by recipe, and its stock."""
    imported(FERNHOLLOW.read_bytes())
    return all_grain_brews(), tuple(stock().values())


def draft(brew: Brew, goods: tuple[Fermentable, ...], *, partial_mash: bool) -> Draft:
    return converted(
        brew, goods, pre_boil_volume_l=13.0, post_boil_volume_l=11.0, partial_mash=partial_mash
    )


def is_same_beer(one: Brew, other: Brew) -> bool:
    """Compare two brews figure by figure, without the draft's own word for it."""
    first, second = figures(one), figures(other)
    dark = max(first.srm.value, second.srm.value)
    limits = {"og": 0.002, "fg": 0.002, "ibu": 2.0, "srm": max(2.0, 0.1 * dark), "abv": 0.3}
    return all(
        abs(getattr(first, name).value - getattr(second, name).value) <= limit
        for name, limit in limits.items()
    )


def test_drafted_twins_of_the_demo_recipes_are_the_same_beer_or_say_why(beers) -> None:
    brews, goods = beers
    assert len(brews) >= 8
    for partial_mash in (True, False):
        made = {code: draft(brew, goods, partial_mash=partial_mash) for code, brew in brews.items()}
        landed = {code for code, brew in brews.items() if is_same_beer(brew, made[code].brew)}
        assert len(landed) >= len(brews) - len(brews) // 8  # 7 of 8
        for code, found in made.items():
            assert found.parity.holds == (code in landed)
            for row in found.parity.rows:
                said = any(warning.startswith(f"{row.name}: ") for warning in found.warnings)
                assert said is not row.within


def test_demo_recipes_with_flaked_grain_are_a_partial_mash_that_converts_or_differ_in_body(
    beers,
) -> None:
    brews, goods = beers
    flaked = {
        code
        for code, brew in brews.items()
        if any(line.family is Family.FLAKED_OATS for line in brew.fermentables)
    }
    assert flaked == {"STOUT", "WIT"}
    for code, brew in brews.items():
        mashed = draft(brew, goods, partial_mash=True).brew
        assert (mashed.kind is MethodKind.PARTIAL_MASH) == (code in flaked)
        power = figures(mashed).power
        assert power is None or power.value >= SOUND_LINTNER
        steeped = draft(brew, goods, partial_mash=False)
        assert steeped.brew.kind is MethodKind.EXTRACT
        differs = any("body differs" in warning for warning in steeped.warnings)
        assert differs == (code in flaked)
