"""A method at other sizes, in whole containers, and with hops that move their time."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from boxwort.errors import Refusal
from boxwort.quantities import MG_PER_G, UL_PER_L
from inventory.models import Item, ItemKind
from recipes.brewing.roles import HopRole, MethodKind, Use
from recipes.queries.bills import bill_of
from recipes.queries.figures import kept_figures, method_figures
from recipes.queries.kit_designs import kit_design, scaled_design
from recipes.queries.obstacles import obstacles
from recipes.services.methods import write_yeasts
from tests.recipes import make

pytestmark = pytest.mark.django_db


@pytest.fixture
def goods():
    return make.catalogue()


def _in_containers(item: Item, grams: float) -> Item:
    Item.objects.filter(pk=item.pk).update(container_quantity=round(grams * MG_PER_G))
    item.refresh_from_db()
    return item


def _tins(goods, revision=None):
    """Return a draft whose extract comes in tins of 1.5 kg, with dry extract beside it."""
    revision = revision or make.draft()
    write_yeasts(by=make.developer(), revision=revision, items=[goods.ale_yeast])
    tin = _in_containers(make.malt("TIN", ItemKind.EXTRACT, points=300.0), 1500)
    make.write_method_of(
        revision,
        make.line(tin, Use.BOIL, 1700, 60),
        make.line(goods.dry_extract, Use.BOIL, 1000, 60),
        *make.pale_hops(goods, 30),
    )
    return revision


def test_tins_go_in_whole_and_dry_extract_makes_up_the_rest(goods):
    revision = make.offered(_tins(goods))
    kit = make.offered_kit(revision, "TIN-20", goods)
    bill = {row.key: row for row in bill_of(kit.pk)}
    tin, dry = bill["malt-1"], bill["malt-2"]
    assert (tin.exact, tin.packed) == (pytest.approx(make.kg(1.7)), make.kg(1.5))
    # 0.2 kg * 300 are 60 litre-degrees, and 60 / 366 are 0.164 kg
    assert (dry.exact, dry.packed) == (pytest.approx(make.kg(1.0)), make.kg(1.164))
    assert tin.reason.startswith("1.70 kg in one of 1.5 kg; 0.16 kg more Extract makes up")
    assert "Tin: 1.70 kg in one of 1.5 kg" in dry.reason
    written = method_figures(kit.method_id).og.value
    og = kept_figures(kit.figures).og
    assert og.value == pytest.approx(written)
    assert [part.value for part in og.parts] == pytest.approx([1.5 * 300, 366 + 60])


def test_a_kit_too_small_for_a_whole_tin_is_refused(goods):
    kit = make.kit(_tins(goods), "TIN-5", goods, volume=5 * UL_PER_L)
    with pytest.raises(Refusal) as refused:
        kit_design(kit.pk)
    assert refused.value.code == "container-too-big"
    assert "Extract" in refused.value.what


def test_a_hop_in_sachets_goes_in_whole_ones_and_counts_as_packed(goods):
    _in_containers(goods.aroma, 25)
    revision = make.offered(make.pale_ale(goods))
    lines = revision.methods.get(kind=MethodKind.EXTRACT).lines.filter(item=goods.aroma)
    assert list(lines.values_list("quantity", flat=True)) == [25_000, 25_000]  # 20.2 g and 30 g
    kit = make.offered_kit(revision, "PALE-10", goods, volume=10 * UL_PER_L)
    row = next(row for row in bill_of(kit.pk) if row.key == "hop-2")
    assert (row.exact, row.packed) == (pytest.approx(12_500), 25_000)
    assert row.reason == "12.5 g packed as 25 g: it is sold whole and goes in steps of 25 g"
    parts = kept_figures(kit.figures).ibu.parts
    assert {term.name: term.value for term in parts[1].terms}["weight"] == 25


def test_a_hop_that_moves_its_time_has_its_bitterness_by_the_minute(goods):
    revision = make.draft()
    write_yeasts(by=make.developer(), revision=revision, items=[goods.ale_yeast])
    moving = {"role": HopRole.MOVE_TIME, "least_minutes": 45, "most_minutes": 60}
    make.write_method_of(
        revision,
        make.line(goods.dry_extract, Use.BOIL, 2700, 60),
        make.hop_line(goods.bittering, Use.BOIL, 28.2, 55, **moving),
    )
    assert obstacles(revision.pk) == []
    kit = make.offered_kit(make.offered(revision), "FIXED-20", goods)
    row = next(row for row in bill_of(kit.pk) if row.key == "hop-1")
    table = dict(row.minutes_table)
    assert list(table) == list(range(45, 61))
    assert table[55] == row.ibu_per_gram
    assert sorted(table.values()) == list(table.values())
    # its grams never move, so it counts as packed: 28 g and not 28.2 g
    assert row.packed == 28_000
    assert kit.target_ibu == pytest.approx(28 * 0.08 * (row.ibu_per_gram or 0))


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({"least_minutes": None, "most_minutes": None}, "time-limits-missing"),
        ({"most_minutes": 75}, "longer-than-the-boil"),
        ({"use": Use.FIRST_WORT}, "hop-cannot-move-time"),
        ({"use": Use.DRY_HOP}, "hop-must-hold-weight"),
    ],
)
def test_a_hop_moves_its_time_only_within_the_boil(goods, facts, code):
    revision = make.draft()
    write_yeasts(by=make.developer(), revision=revision, items=[goods.ale_yeast])
    known = {"role": HopRole.MOVE_TIME, "least_minutes": 45, "most_minutes": 60} | facts
    hop = make.hop_line(goods.bittering, known.pop("use", Use.BOIL), 28, 55, **known)
    make.write_method_of(revision, make.line(goods.dry_extract, Use.BOIL, 2700, 60), hop)
    assert code in [obstacle.code for obstacle in obstacles(revision.pk)]


def test_a_method_at_another_size_has_the_same_beer_with_reasons_and_totals(goods):
    method = make.pale_ale(goods).methods.get(kind=MethodKind.EXTRACT)
    design = scaled_design(method.pk, 10 * UL_PER_L, kits=12)
    whole = method_figures(method.pk)
    assert design.figures.og.value == pytest.approx(whole.og.value)
    assert design.figures.ibu.value == pytest.approx(whole.ibu.value, abs=0.2)  # 10.1 g as 10 g
    rows = {row.key: row for row in design.rows}
    assert rows["malt-1"].packed == make.kg(1.35)
    assert rows["yeast-1"].packed == 1
    total = next(row for row in design.totals if row.key == "malt-1")
    assert (total.per_kit, total.total) == (make.kg(1.35), make.kg(1.35 * 12))
    assert any("Bitter" in reason for reason in design.reasons)


def test_at_its_own_size_a_method_is_as_it_is_written(goods):
    method = make.pale_ale(goods).methods.get(kind=MethodKind.EXTRACT)
    design = scaled_design(method.pk, 20 * UL_PER_L)
    assert design.reasons == ()
    assert design.figures.og == method_figures(method.pk).og


@pytest.mark.parametrize("litres", [3.0, 41.0])
def test_a_method_is_scaled_to_kits_and_not_to_casks(goods, litres):
    method = make.pale_ale(goods).methods.get(kind=MethodKind.EXTRACT)
    with pytest.raises(Refusal) as refused:
        scaled_design(method.pk, round(litres * UL_PER_L))
    assert refused.value.code == "size-impossible"


@pytest.mark.parametrize("kits", [0, -1, 100_001])
def test_a_number_of_kits_is_at_least_one(goods, kits):
    method = make.pale_ale(goods).methods.get(kind=MethodKind.EXTRACT)
    with pytest.raises(Refusal) as refused:
        scaled_design(method.pk, 10 * UL_PER_L, kits=kits)
    assert refused.value.code == "kits-impossible"


def test_designing_takes_as_many_statements_for_many_lines_and_substitutes_as_for_few(goods):
    counts = []
    for code, extra in (("SHORT", 1), ("LONG", 20)):
        revision = make.pale_ale(goods, code)
        salts = [make.line(goods.gypsum, Use.BOIL, 1, 10) for _ in range(extra)]
        method = make.write_extract(revision, goods, *salts)
        for number, line in enumerate(method.lines.filter(item=goods.gypsum)):
            line.method.revision = revision
            make.approved(line, make.item(f"{code}-{number}", ItemKind.MINERAL))
        kit = make.kit(revision, f"{code}-KIT", goods)
        with CaptureQueriesContext(connection) as statements:
            design = kit_design(kit.pk)
        assert len(design.substitutes) == extra + 1
        counts.append(len(statements))
    assert counts[0] == counts[1]
