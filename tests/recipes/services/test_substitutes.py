"""Approving what may stand for a line or a yeast of a draft."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from boxwort.accounts.models import History
from boxwort.errors import Refusal
from boxwort.quantities import Measure
from inventory.models import HopSpec, Item, ItemKind
from recipes.brewing.roles import MethodKind, Use
from recipes.models import Line, Revision, Substitute
from recipes.services.methods import write_yeasts
from recipes.services.recipes import start_revision
from recipes.services.substitutes import approve_substitute, withdraw_substitute
from tests.recipes import make
from tests.recipes.make import Catalogue

pytestmark = pytest.mark.django_db


@pytest.fixture
def goods() -> Catalogue:
    return make.catalogue()


def _line(revision: Revision, item: Item, kind: MethodKind = MethodKind.EXTRACT) -> Line:
    line = Line.objects.filter(method__revision=revision, method__kind=kind, item=item).first()
    assert line is not None
    line.method.revision = revision
    return line


def test_who_approves_a_substitute_is_kept_and_the_draft_takes_a_version(goods):
    revision = make.pale_ale(goods)
    started = revision.version
    other = make.hop("OTHER", 0.1)
    substitute = make.approved(_line(revision, goods.bittering), other, ratio=0.8, note="fresher")
    assert (substitute.item, substitute.ratio, substitute.note) == (other, 0.8, "fresher")
    assert substitute.approved_by == make.developer()
    assert Revision.objects.get(pk=revision.pk).version == started + 1
    written = History.objects.get(action="approve-substitute", thing="recipes.substitute")
    assert (written.after["stands_for"], written.after["item"]) == ("BITTER", "OTHER")


def test_approving_what_stands_changes_nothing_and_another_ratio_is_a_change(goods):
    revision = make.pale_ale(goods)
    line, other = _line(revision, goods.bittering), make.hop("OTHER", 0.1)
    first = make.approved(line, other)
    version = Revision.objects.get(pk=revision.pk).version
    assert make.approved(line, other).pk == first.pk
    assert Revision.objects.get(pk=revision.pk).version == version
    assert make.approved(line, other, ratio=0.8).pk == first.pk
    assert Substitute.objects.get().ratio == 0.8
    assert Revision.objects.get(pk=revision.pk).version == version + 1


def test_a_substitute_of_a_draft_is_withdrawn(goods):
    revision = make.pale_ale(goods)
    substitute = make.approved(_line(revision, goods.bittering), make.hop("OTHER"))
    withdraw_substitute(by=make.developer(), substitute=substitute)
    assert not Substitute.objects.exists()
    assert History.objects.filter(action="withdraw-substitute", before__item="OTHER").exists()


def test_of_two_who_start_from_the_same_draft_the_second_is_told(goods):
    revision = make.pale_ale(goods)
    line, started = _line(revision, goods.bittering), revision.version
    make.approved(line, make.hop("OTHER"), expected=started)
    with pytest.raises(Refusal) as told:
        make.approved(line, make.hop("THIRD"), expected=started)
    assert told.value.code == "changed-by-someone-else"


def test_the_substitutes_of_an_offered_revision_stay_as_they_are(goods):
    revision = make.pale_ale(goods)
    line = _line(revision, goods.bittering)
    substitute = make.approved(line, make.hop("OTHER"))
    make.offered(revision)
    acts: tuple[Callable[[], object], ...] = (
        lambda: make.approved(line, make.hop("THIRD")),
        lambda: make.approved(line, substitute.item, ratio=0.5),
        lambda: withdraw_substitute(by=make.developer(), substitute=substitute),
    )
    for act in acts:
        with pytest.raises(Refusal) as refused:
            act()
        assert refused.value.code == "revision-offered"
    assert Substitute.objects.get().ratio == 1


WRONG: dict[str, tuple[str, Callable[[Catalogue], tuple[Item, Item]]]] = {
    "itself": ("substitute-is-itself", lambda goods: (goods.bittering, goods.bittering)),
    "a malt for a hop": (
        "substitute-of-another-kind",
        lambda goods: (goods.bittering, goods.crystal),
    ),
    "a mineral for an extract": (
        "substitute-of-another-kind",
        lambda goods: (goods.dry_extract, goods.gypsum),
    ),
    "a fining by the piece for a mineral": (
        "substitute-of-another-kind",
        lambda goods: (goods.gypsum, make.item("TABLET", ItemKind.FINING, Measure.COUNT)),
    ),
    "flaked oats in the steeping bag": (
        "substitute-unfit",
        lambda goods: (goods.crystal, goods.flaked_oats),
    ),
    "grain in the boil": ("substitute-unfit", lambda goods: (goods.dry_extract, goods.crystal)),
}


@pytest.mark.parametrize("fault", WRONG)
def test_what_cannot_stand_there_is_not_approved(goods, fault):
    code, wrong = WRONG[fault]
    original, item = wrong(goods)
    line = _line(make.pale_ale(goods), original)
    with pytest.raises(Refusal) as refused:
        make.approved(line, item)
    assert refused.value.code == code
    assert not Substitute.objects.exists()


@pytest.mark.parametrize("ratio", [0.0, -1.0, 1000.0])
def test_a_ratio_is_a_weight_for_a_weight(goods, ratio):
    line = _line(make.pale_ale(goods), goods.bittering)
    with pytest.raises(Refusal) as refused:
        make.approved(line, make.hop("OTHER"), ratio=ratio)
    assert refused.value.code == "ratio-impossible"


def test_a_hop_without_an_alpha_acid_stands_for_nothing(goods):
    line, unknown = _line(make.pale_ale(goods), goods.bittering), make.hop("UNKNOWN")
    HopSpec.objects.filter(item=unknown).delete()
    unknown.refresh_from_db()
    with pytest.raises(Refusal) as refused:
        make.approved(line, unknown)
    assert refused.value.code == "specification-missing"


def test_a_sugar_may_stand_for_an_extract(goods):
    line = _line(make.pale_ale(goods), goods.dry_extract)
    sugar = make.malt("SUGAR", ItemKind.SUGAR, points=384.0, allergens=())
    assert make.approved(line, sugar, ratio=0.95).line == line


def test_a_yeast_stands_for_a_yeast_and_is_pitched_by_its_own_cells(goods):
    revision = make.pale_ale(goods)
    option = revision.yeasts.get(item=goods.ale_yeast)
    option.revision = revision
    other = make.liquid_yeast("SECOND-ALE")
    for item, ratio, code in (
        (goods.aroma, 1.0, "substitute-of-another-kind"),
        (other, 2.0, "ratio-impossible"),
    ):
        with pytest.raises(Refusal) as refused:
            make.approved(option, item, ratio=ratio)
        assert refused.value.code == code
    assert make.approved(option, other).yeast == option


def test_writing_a_method_again_keeps_the_substitutes_of_the_lines_that_stay(goods):
    revision = make.pale_ale(goods)
    kept = make.approved(_line(revision, goods.bittering), make.hop("OTHER"))
    gone = make.approved(_line(revision, goods.gypsum), make.item("SALT", ItemKind.MINERAL))
    method = make.write_extract(revision, goods)  # with gypsum: everything stays
    assert Substitute.objects.count() == 2
    make.write_method_of(
        revision, make.line(goods.dry_extract, Use.BOIL, 2700, 60), *make.pale_hops(goods, 30)
    )
    kept.refresh_from_db()
    assert kept.line == method.lines.get(item=goods.bittering)
    assert not Substitute.objects.filter(pk=gone.pk).exists()


def test_writing_the_yeasts_again_keeps_the_substitutes_of_those_that_stay(goods):
    revision = make.pale_ale(goods)
    option = revision.yeasts.get(item=goods.ale_yeast)
    option.revision = revision
    kept = make.approved(option, make.liquid_yeast("SECOND-ALE"))
    write_yeasts(
        by=make.developer(), revision=revision, items=[goods.dry_ale_yeast, goods.ale_yeast]
    )
    kept.refresh_from_db()
    assert kept.yeast == revision.yeasts.get(item=goods.ale_yeast)
    write_yeasts(by=make.developer(), revision=revision, items=[goods.dry_ale_yeast])
    assert not Substitute.objects.exists()


def test_the_next_revision_has_the_substitutes_with_who_approved_them_and_when(goods):
    first = make.pale_ale(goods)
    old = make.approved(_line(first, goods.bittering), make.hop("OTHER"), ratio=0.8, note="fresh")
    option = first.yeasts.get(item=goods.ale_yeast)
    option.revision = first
    make.approved(option, make.liquid_yeast("SECOND-ALE"))
    make.offered(first)
    second = start_revision(by=make.developer("kim"), recipe=first.recipe)
    new = Substitute.objects.get(line__method__revision=second)
    assert new.line is not None
    assert new.line.item == goods.bittering
    for name in ("item", "ratio", "note", "approved_by", "approved_at"):
        assert getattr(new, name) == getattr(old, name)
    assert Substitute.objects.get(yeast__revision=second).item.code == "SECOND-ALE"


def test_a_note_fits_on_a_line_of_the_sheet(goods):
    line = _line(make.pale_ale(goods), goods.bittering)
    substitute = approve_substitute(
        by=make.developer(), stands_for=line, item=make.hop("OTHER"), note="n" * 120
    )
    assert len(substitute.note) == 120
    with pytest.raises(Refusal) as refused:
        approve_substitute(
            by=make.developer(), stands_for=line, item=make.hop("THIRD"), note="n" * 121
        )
    assert refused.value.code == "entry-not-valid"
