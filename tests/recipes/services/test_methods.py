"""Writing the methods and yeasts of a draft."""

from __future__ import annotations

from dataclasses import replace

import pytest

from boxwort.accounts.models import History
from boxwort.errors import Refusal
from boxwort.quantities import Measure
from inventory.models import ItemKind
from recipes.brewing.roles import HopRole, MethodKind, Use
from recipes.models import Method, Revision
from recipes.services.methods import LineFacts, MethodFacts, write_method, write_yeasts
from tests.recipes import make

pytestmark = pytest.mark.django_db


def _write(revision: Revision, *lines: LineFacts, facts: MethodFacts | None = None) -> Method:
    known = facts or make.method_facts(MethodKind.EXTRACT)
    return write_method(by=make.developer(), revision=revision, facts=known, lines=lines)


def test_writing_a_method_again_replaces_its_lines_and_keeps_the_old_ones_in_history():
    goods, revision = make.catalogue(), make.draft()
    first = _write(revision, make.line(goods.dry_extract, Use.BOIL, 2700, 60))
    second = _write(revision, make.line(goods.dry_extract, Use.BOIL, 2500, 60))
    assert second.pk == first.pk
    assert [line.quantity for line in second.lines.all()] == [2_500_000]
    kept = History.objects.filter(thing="recipes.method", thing_id=first.pk).first()
    assert kept is not None
    assert kept.before["lines"][0]["quantity"] == 2_700_000
    assert kept.after["lines"][0]["quantity"] == 2_500_000


def test_every_change_of_a_method_is_a_new_version_of_the_draft():
    goods, revision = make.catalogue(), make.draft()
    _write(revision, make.line(goods.dry_extract, Use.BOIL, 2700, 60))
    assert Revision.objects.get(pk=revision.pk).version == revision.version == 2


def test_somebody_with_an_old_copy_of_the_draft_is_told():
    goods, revision = make.catalogue(), make.draft()
    old_copy = Revision.objects.get(pk=revision.pk)
    _write(revision, make.line(goods.dry_extract, Use.BOIL, 2700, 60))
    with pytest.raises(Refusal) as told:
        write_yeasts(by=make.developer(), revision=old_copy, items=[goods.ale_yeast])
    assert told.value.code == "changed-by-someone-else"


def test_an_offered_revision_takes_no_change_even_from_an_old_copy():
    goods = make.catalogue()
    revision = make.pale_ale(goods)
    old_copy = Revision.objects.get(pk=revision.pk)
    make.offered(revision)
    for copy in (revision, old_copy):
        with pytest.raises(Refusal) as refused:
            make.write_extract(copy, goods)
        assert refused.value.code == "revision-offered"
        assert "new revision" in refused.value.remedy
        with pytest.raises(Refusal):
            write_yeasts(by=make.developer(), revision=copy, items=[goods.ale_yeast])


@pytest.mark.parametrize(
    ("wrong", "code"),
    [
        ({"finished_volume": 0}, "boil-impossible"),
        ({"post_boil_volume": 0}, "boil-impossible"),
        ({"post_boil_volume": 30_000_000}, "boil-impossible"),
        ({"mash_efficiency": 75.0}, "efficiency-impossible"),
        ({"mash_efficiency": 0.0}, "efficiency-impossible"),
        ({"attenuation": 76.0}, "attenuation-impossible"),
        ({"attenuation": 0.0}, "attenuation-impossible"),
        ({"stand_minutes": 20}, "stand-impossible"),
        ({"stand_minutes": 20, "stand_from_c": 95.0}, "stand-impossible"),
        ({"stand_minutes": 0, "stand_from_c": 95.0, "stand_to_c": 80.0}, "stand-impossible"),
        ({"stand_minutes": 20, "stand_from_c": 80.0, "stand_to_c": 95.0}, "stand-impossible"),
        ({"stand_minutes": 20, "stand_from_c": 101.0, "stand_to_c": 80.0}, "stand-impossible"),
        ({"stand_minutes": 20, "stand_from_c": 95.0, "stand_to_c": 39.0}, "stand-impossible"),
        ({"carbonation_volumes": 5.1}, "carbonation-impossible"),
        ({"carbonation_volumes": -0.1}, "carbonation-impossible"),
        ({"mash_l_per_kg": 0.5}, "mash-impossible"),
        ({"grain_temperature_c": 70.0}, "mash-impossible"),
        ({"first_wort_minutes": -1}, "entry-not-valid"),
    ],
)
def test_a_method_that_cannot_be_brewed_is_refused(wrong, code):
    facts = replace(make.method_facts(MethodKind.EXTRACT), **wrong)
    with pytest.raises(Refusal) as refused:
        _write(make.draft(), facts=facts)
    assert refused.value.code == code


@pytest.mark.parametrize(
    ("wrong", "code"),
    [
        ({"quantity": 0}, "quantity-missing"),
        ({"role": None}, "hop-line-incomplete"),
        ({"reference_alpha": None}, "hop-line-incomplete"),
        ({"reference_alpha": 8.0}, "hop-line-incomplete"),
        ({"minutes": -5}, "entry-not-valid"),
        ({"note": "n" * 121}, "entry-not-valid"),
    ],
)
def test_a_hop_line_without_weight_role_or_alpha_as_a_share_is_refused(wrong, code):
    hop = make.hop_line(make.hop("BITTER"), Use.BOIL, 30, 60, role=HopRole.ABSORB)
    with pytest.raises(Refusal) as refused:
        _write(make.draft(), replace(hop, **wrong))
    assert refused.value.code == code


@pytest.mark.parametrize(
    "wrong",
    [
        {"role": HopRole.ABSORB},
        {"least_minutes": None},
        {"most_minutes": None},
        {"least_minutes": 61},
        {"most_minutes": 59},
        {"least_minutes": 0, "minutes": 0},
    ],
)
def test_only_a_hop_that_moves_its_time_has_limits_with_its_minutes_between_them(wrong):
    moving = {"role": HopRole.MOVE_TIME, "least_minutes": 45, "most_minutes": 75}
    hop = make.hop_line(make.hop("BITTER"), Use.BOIL, 30, 60, **moving)
    revision = make.draft()
    with pytest.raises(Refusal) as refused:
        _write(revision, replace(hop, **wrong))
    assert refused.value.code == "time-limits-impossible"
    line = _write(revision, hop).lines.get()
    assert (line.least_minutes, line.most_minutes) == (45, 75)


def test_a_method_keeps_all_that_it_says_and_history_has_it():
    said = {
        "attenuation": 0.74, "stand_minutes": 20, "stand_from_c": 95.0, "stand_to_c": 80.0,
        "first_wort_minutes": 20, "carbonation_volumes": 2.4, "mash_l_per_kg": 3.0,
        "heavy_bottles": True, "grain_temperature_c": 18.0,
    }  # fmt: skip
    facts = make.method_facts(MethodKind.ALL_GRAIN, **said)
    method = Method.objects.get(pk=_write(make.draft(), facts=facts).pk)
    assert {name: getattr(method, name) for name in said} == said
    kept = History.objects.filter(thing="recipes.method").first()
    assert kept is not None
    assert said.items() <= kept.after.items()


def test_only_hops_have_a_role():
    goods = make.catalogue()
    line = make.line(goods.crystal, Use.STEEP, 300, role=HopRole.ABSORB, reference_alpha=0.05)
    with pytest.raises(Refusal) as refused:
        _write(make.draft(), line)
    assert refused.value.code == "not-a-hop"


def test_a_yeast_or_a_kit_is_not_a_line():
    sold = make.item("PALE-20", ItemKind.KIT, Measure.COUNT)
    for thing in (make.liquid_yeast("ALE"), sold):
        with pytest.raises(Refusal) as refused:
            _write(make.draft(), LineFacts(item=thing, use=Use.FERMENTER, quantity=1))
        assert refused.value.code == "not-a-line"


def test_the_yeast_named_first_is_the_usual_one():
    goods, revision = make.catalogue(), make.draft()
    write_yeasts(
        by=make.developer(), revision=revision, items=[goods.dry_ale_yeast, goods.ale_yeast]
    )
    assert [yeast.item for yeast in revision.yeasts.all()] == [
        goods.dry_ale_yeast,
        goods.ale_yeast,
    ]


def test_a_yeast_option_is_a_yeast_named_once():
    goods, revision = make.catalogue(), make.draft()
    for items, code in (
        ([goods.aroma], "not-a-yeast"),
        ([goods.ale_yeast, goods.ale_yeast], "yeast-named-twice"),
    ):
        with pytest.raises(Refusal) as refused:
            write_yeasts(by=make.developer(), revision=revision, items=items)
        assert refused.value.code == code
