"""Recipes, and the drafts that follow one another."""

from __future__ import annotations

import pytest

from boxwort.accounts.models import History
from boxwort.errors import Refusal
from recipes.brewing.roles import HopRole, Use
from recipes.models import Recipe, Revision, RevisionState
from recipes.services.methods import write_yeasts
from recipes.services.recipes import start_revision, try_revision, write_recipe
from tests.recipes import make

pytestmark = pytest.mark.django_db


def _pale(**said) -> Recipe:
    return write_recipe(by=make.developer(), **({"code": "PALE", "name": "Ridge Pale"} | said))


def test_writing_a_recipe_again_changes_it_and_leaves_history():
    _pale(style="Pale ale")
    recipe = _pale(style="Bitter")
    assert Recipe.objects.get().style == "Bitter"
    newest = History.objects.filter(thing="recipes.recipe", thing_id=recipe.pk).first()
    assert newest is not None
    assert (newest.before, newest.after) == ({"style": "Pale ale"}, {"style": "Bitter"})


def test_writing_what_stands_changes_nothing():
    _pale()
    assert _pale().version == 1
    assert History.objects.filter(thing="recipes.recipe").count() == 1


def test_of_two_who_start_from_the_same_recipe_the_second_is_told():
    _pale()
    _pale(style="Bitter", expected=1)
    with pytest.raises(Refusal) as told:
        _pale(style="Mild", expected=1)
    assert told.value.code == "changed-by-someone-else"


@pytest.mark.parametrize(
    ("said", "code"),
    [
        ({"code": "pale ale"}, "code-not-valid"),
        ({"code": "A" * 21}, "code-not-valid"),
        ({"code": "PALE\n"}, "code-not-valid"),
        ({"name": ""}, "entry-not-valid"),
    ],
)
def test_a_recipe_needs_a_code_and_a_name(said, code):
    with pytest.raises(Refusal) as refused:
        _pale(**said)
    assert refused.value.code == code


def test_the_first_revision_is_an_empty_draft():
    revision = start_revision(by=make.developer(), recipe=_pale())
    assert (revision.number, revision.state) == (1, RevisionState.DRAFT)
    assert not revision.methods.exists()


def test_the_next_revision_begins_as_a_copy_of_the_newest():
    first = make.offered(make.pale_ale(make.catalogue()))
    second = start_revision(by=make.developer(), recipe=first.recipe, reason="drier")
    assert (second.number, second.state, second.content_hash) == (2, RevisionState.DRAFT, "")
    for old, new in zip(first.methods.all(), second.methods.all(), strict=True):
        assert new.pk != old.pk
        assert (new.kind, new.pre_boil_volume, new.frozen) == (old.kind, old.pre_boil_volume, {})
        said = ("position", "item", "use", "minutes", "quantity", "role", "reference_alpha")
        assert list(new.lines.values_list(*said)) == list(old.lines.values_list(*said))
    assert [y.item for y in second.yeasts.all()] == [y.item for y in first.yeasts.all()]


def test_the_copy_says_all_that_a_method_says():
    goods, first = make.catalogue(), make.draft()
    stand = {"stand_minutes": 20, "stand_from_c": 95.0, "stand_to_c": 80.0}
    moving = {"role": HopRole.MOVE_TIME, "least_minutes": 45, "most_minutes": 75}
    make.write_method_of(
        first,
        make.hop_line(goods.bittering, Use.BOIL, 30, 60, **moving),
        attenuation=0.74, carbonation_volumes=2.4, heavy_bottles=True, first_wort_minutes=20,
        mash_l_per_kg=3.0, grain_temperature_c=18.0, **stand,
    )  # fmt: skip
    second = start_revision(by=make.developer(), recipe=first.recipe)
    settled = {"id", "revision_id", "method_id"}
    for read in (lambda r: r.methods, lambda r: r.methods.get().lines):
        (old,), (new,) = read(first).values(), read(second).values()
        assert {k: v for k, v in old.items() if k not in settled} == {
            k: v for k, v in new.items() if k not in settled
        }


def test_changing_the_copy_leaves_the_offered_revision_alone():
    goods = make.catalogue()
    first = make.offered(make.pale_ale(goods))
    second = start_revision(by=make.developer(), recipe=first.recipe)
    write_yeasts(by=make.developer(), revision=second, items=[goods.dry_ale_yeast])
    assert first.yeasts.count() == 2


def test_a_draft_on_trial_may_still_change():
    goods = make.catalogue()
    revision = make.pale_ale(goods)
    try_revision(by=make.developer(), revision=revision, expected=revision.version)
    write_yeasts(by=make.developer(), revision=revision, items=[goods.dry_ale_yeast])
    assert Revision.objects.get(pk=revision.pk).state == RevisionState.TRIAL


def test_an_offered_revision_cannot_go_back_on_trial():
    revision = make.offered(make.pale_ale(make.catalogue()))
    with pytest.raises(Refusal) as refused:
        try_revision(by=make.developer(), revision=revision, expected=revision.version)
    assert refused.value.code == "revision-offered"
