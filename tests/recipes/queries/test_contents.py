"""The content of a method, as it is kept for good."""

from __future__ import annotations

import json

import pytest

from recipes.brewing.roles import Family, HopRole, MethodKind, Use
from recipes.models import Method
from recipes.queries.contents import brew_of, completed, live_content, methods_in_full
from recipes.queries.figures import computed, method_figures, plain_figures
from recipes.queries.kit_designs import kit_design
from recipes.queries.recipes import recipe_detail
from recipes.services.methods import write_yeasts
from tests.recipes import make

pytestmark = pytest.mark.django_db

_LATER = {
    "attenuation", "stand_minutes", "stand_from_c", "stand_to_c", "first_wort_minutes",
    "carbonation_volumes", "heavy_bottles", "mash_l_per_kg", "grain_temperature_c", "family",
    "form", "container", "least_minutes", "most_minutes", "substitutes", "strain_group",
}  # fmt: skip


def _of_before(content):
    """Return content as it was kept before methods said more."""
    kept = json.loads(json.dumps(content))
    yeasts, lines = kept["yeasts"], kept["lines"]
    forms = [yeast["form"] for yeast in yeasts]  # a yeast always had one
    for part in (kept, *yeasts, *lines, *(line["malt"] for line in lines if line["malt"])):
        for name in _LATER & set(part):
            del part[name]
    for yeast, form in zip(yeasts, forms, strict=True):
        yeast["form"] = form
        yeast["attenuation"] = 0.76
    return kept


def _content(method: Method):
    return live_content(methods_in_full().get(pk=method.pk))


def test_content_kept_before_methods_said_more_gives_the_same_figures():
    revision = make.pale_ale(make.catalogue())
    content = _content(revision.methods.get(kind=MethodKind.EXTRACT))
    old = _of_before(content)
    assert "substitutes" not in old["lines"][0]
    assert computed(brew_of(completed(old))) == computed(brew_of(content))
    assert completed(completed(old)) == completed(old)
    assert completed(content) == content


def test_a_revision_offered_before_methods_said_more_is_read_like_any_other():
    goods = make.catalogue()
    revision = make.offered(make.pale_ale(goods))
    for method in revision.methods.all():
        method.frozen["content"] = _of_before(method.frozen["content"])
        method.frozen["content"]["yeasts"][1]["attenuation"] = 0.78
        method.save()
    kit = make.kit(revision, "PALE-20", goods)
    design = kit_design(kit.pk)
    assert design.figures.og.value == pytest.approx(1.05166)
    assert design.substitutes == {}
    detail = recipe_detail("PALE-ALE")
    assert detail.twins[0].parity is not None
    assert detail.methods[1].figures is not None


def test_what_trials_showed_comes_before_the_attenuation_of_the_strain():
    goods, revision = make.catalogue(), make.draft()
    write_yeasts(by=make.developer(), revision=revision, items=[goods.ale_yeast])
    extract = make.line(goods.dry_extract, Use.BOIL, 2000, 60)
    by_strain = method_figures(make.write_method_of(revision, extract).pk).fg
    by_trials = method_figures(make.write_method_of(revision, extract, attenuation=0.7).pk).fg
    # 2 kg * 366 in 20 L are 36.6 points: 24 % and 30 % of them stay
    assert by_strain.value == pytest.approx(1.008784)
    assert by_trials.value == pytest.approx(1.01098)


def test_a_declared_stand_and_first_wort_reach_the_hops():
    goods, revision = make.catalogue(), make.draft()
    write_yeasts(by=make.developer(), revision=revision, items=[goods.ale_yeast])
    lines = [
        make.line(goods.dry_extract, Use.BOIL, 2000, 60),
        make.hop_line(goods.bittering, Use.FIRST_WORT, 20),
        make.hop_line(goods.aroma, Use.WHIRLPOOL, 30),
    ]

    def ibu(**facts) -> list[float]:
        method = make.write_method_of(revision, *lines, **facts)
        return [part.value for part in method_figures(method.pk).ibu.parts]

    plain = ibu()
    stood = ibu(stand_minutes=20, stand_from_c=95.0, stand_to_c=80.0)
    short = ibu(first_wort_minutes=20)
    assert plain[0] > 10
    assert plain[1] == 0
    assert stood[1] > 3
    assert stood[0] > plain[0]  # what boiled stands too
    assert short[0] < plain[0]


def test_extract_goes_into_the_boil_at_its_minutes_and_steeped_grain_at_none():
    goods, revision = make.catalogue(), make.draft()
    late = make.line(goods.dry_extract, Use.BOIL, 2700, 15)
    method = make.write_method_of(revision, late, make.line(goods.crystal, Use.STEEP, 300, 20))
    write_yeasts(by=make.developer(), revision=revision, items=[goods.ale_yeast])
    brew = brew_of(_content(method))
    assert [line.minutes for line in brew.fermentables] == [15.0, None]


def test_content_says_what_the_catalogue_says_of_families_forms_and_containers():
    goods, revision = make.catalogue(), make.draft()
    tin = make.malt(
        "TIN", make.ItemKind.EXTRACT, points=300.0, family="pale_extract",
    )  # fmt: skip
    type(tin).objects.filter(pk=tin.pk).update(container_quantity=make.kg(1.5))
    tin.refresh_from_db()
    moving = {"role": HopRole.MOVE_TIME, "least_minutes": 45, "most_minutes": 75}
    method = make.write_method_of(
        revision,
        make.line(tin, Use.BOIL, 1500, 60),
        make.hop_line(goods.bittering, Use.BOIL, 30, 60, **moving),
    )
    write_yeasts(by=make.developer(), revision=revision, items=[goods.ale_yeast])
    brew = brew_of(_content(method))
    (fermentable,), (hop,) = brew.fermentables, brew.hops
    assert (fermentable.family, fermentable.container_kg) == (Family.PALE_EXTRACT, 1.5)
    assert (hop.role, hop.least_minutes, hop.most_minutes) == (HopRole.MOVE_TIME, 45, 75)
    assert _content(method)["lines"][1]["form"] == "pellet"
    assert plain_figures(computed(brew))["og"]["value"] == pytest.approx(1.0225)
