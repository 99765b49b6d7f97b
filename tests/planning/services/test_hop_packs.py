"""A hop pack is packed ahead with its own weigh sheet, and goes into the kit it belongs to."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from boxwort.quantities import Measure
from inventory.models import ItemKind
from inventory.services.lots import hold_lot
from planning.documents.papers import instruction_sheet_pdf, weigh_sheet_pdf
from planning.models import Batch, Run, SheetRevision
from planning.queries.batch_figures import batch_figures
from planning.queries.batch_workings import batch_workings
from planning.queries.best_before import best_before_of
from planning.queries.rebalancing import change_of
from planning.services.packing import start_packing
from planning.services.reserving import reserve_run
from planning.services.runs import KitsAsked, plan_run
from recipes.models import Contents, Kit, Part
from recipes.services.kits import PartFacts
from tests.planning.documents.sample import text
from tests.planning.make import PACK_ON, Store, pack, planner, store
from tests.recipes.make import item, offered_kit

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]


def packs_and_kits(part: Part = Part.PACKED) -> tuple[Store, Kit, Kit]:
    """Return a store, a hop pack and a kit that holds it."""
    made = store()
    revision, goods = made.kit.method.revision, made.goods
    pouch = item("POUCH", ItemKind.PACKAGING, Measure.COUNT)
    made.lot(pouch, 100)
    inside = [PartFacts(item=pouch, quantity=1)]
    hops = offered_kit(revision, "HOPS", goods, contents=Contents.HOP_PACK, parts=inside)
    parts = [
        PartFacts(item=goods.box, quantity=1),
        PartFacts(item=hops.item, quantity=1, part=part),
    ]
    kit = offered_kit(revision, "KIT-PACK", goods, parts=parts)
    return made, hops, kit


def reserved(kit: Kit, kits: int = 10) -> tuple[Run, Batch, dict[str, Any]]:
    asked = [KitsAsked(kit=kit, kits=kits)]
    run = plan_run(by=planner(), pack_on=PACK_ON, lines=asked)
    reserve_run(by=planner(), run=run, expected=run.version)
    run.refresh_from_db()
    found = Batch.objects.select_related("run_line__run", "run_line__kit__item")
    batch = found.get(run_line__run=run)
    return run, batch, SheetRevision.objects.get(batch=batch, voided_at=None).content


def packed_pack(made: Store, hops: Kit) -> Batch:
    run, batch, _ = reserved(hops)
    start_packing(by=made.by, run=run, expected=run.version)
    pack(made, batch)
    return batch


def test_a_run_of_hop_packs_is_balanced_and_weighed_like_the_kit_itself() -> None:
    made, hops, _ = packs_and_kits()
    _, whole, whole_sheet = reserved(made.kit)
    _, batch, sheet = reserved(hops)
    weights = {line["key"]: line["per_kit"] for line in sheet["lines"]}
    assert list(weights) == ["hop-1", "hop-2", "hop-3", "pack-1"]
    same = {line["key"]: line["per_kit"] for line in whole_sheet["lines"]}
    assert all(weights[key] == same[key] for key in ("hop-1", "hop-2", "hop-3"))
    assert sheet["figures"]["ibu"] == pytest.approx(whole_sheet["figures"]["ibu"])
    assert sheet["yeast"] is None
    days = best_before_of([batch.pk, whole.pk])
    assert days[batch.pk].day == days[whole.pk].day
    rows = {row.figure: row for row in batch_figures([batch.pk])[batch.pk].rows}
    assert rows["og"].made.value == rows["og"].design.value
    assert rows["ibu"].made.value == pytest.approx(sheet["figures"]["ibu"])


def test_the_sheet_in_a_hop_pack_has_its_weights_and_when_they_go_in() -> None:
    _, hops, _ = packs_and_kits()
    _, _, sheet = reserved(hops)
    paper = text(instruction_sheet_pdf(sheet))
    assert "stays with the pack" in paper
    assert "Boil, last 60 min" in paper.replace("\u00a0", " ")
    assert "Pitch" not in paper
    assert "Hops" in text(weigh_sheet_pdf(sheet))


def test_a_kit_with_a_hop_pack_weighs_no_hops_and_names_the_lot_of_its_pack() -> None:
    made, hops, kit = packs_and_kits()
    lot = packed_pack(made, hops)
    _, batch, sheet = reserved(kit)
    assert not any(line["role"] for line in sheet["lines"])
    (own,) = (line for line in sheet["lines"] if line["item_code"] == "HOPS")
    assert [taken["code"] for taken in own["lots"]] == [lot.code]
    assert sheet["hop_pack"]["lots"] == [lot.code]
    assert sheet["figures"]["ibu"] == sheet["figures"]["ibu_target"] == kit.target_ibu
    weigh = text(weigh_sheet_pdf(sheet)).replace("\u00a0", " ")
    assert f"{kit.target_ibu:.1f} IBU, by its hop pack" in weigh
    paper = text(instruction_sheet_pdf(sheet)).replace("\u00a0", " ")
    assert f"hop pack Hops, lot {lot.code}" in paper
    assert "weights on its own sheet" in paper
    assert "Bitter from the hop pack" in paper
    assert batch_workings(batch.pk).balance == ()
    notes = " ".join(batch_figures([batch.pk])[batch.pk].notes)
    assert "in a hop pack" in notes


def test_the_kit_is_best_before_its_hop_pack_is() -> None:
    made, hops, kit = packs_and_kits()
    lot = packed_pack(made, hops)
    _, batch, _ = reserved(kit)
    dated = best_before_of([batch.pk])[batch.pk]
    own = lot.conversion.outputs.get().best_before_on
    assert dated.day == own
    assert dated.set_by is not None
    assert "Hops" in dated.set_by.name


def test_a_hop_pack_added_at_dispatch_is_taken_by_no_run_and_the_papers_say_so() -> None:
    _, _, kit = packs_and_kits(Part.DISPATCH)
    _, batch, sheet = reserved(kit)
    assert not batch.allocations.filter(bill_line__item__code="HOPS").exists()
    assert sheet["hop_pack"]["at_dispatch"]
    assert "hop pack Hops, added when the box left" in text(instruction_sheet_pdf(sheet))
    assert "Added at dispatch" in text(weigh_sheet_pdf(sheet))


def test_a_run_of_kits_is_short_while_there_are_no_hop_packs() -> None:
    from boxwort.errors import Refusal

    _, _, kit = packs_and_kits()
    with pytest.raises(Refusal) as refused:
        reserved(kit)
    assert refused.value.code == "run-short"
    assert refused.value.details["shortages"][0]["item"] == "HOPS"


def test_new_weights_are_proposed_for_hop_packs_and_none_for_the_kits_that_hold_them() -> None:
    made, hops, kit = packs_and_kits()
    packed_pack(made, hops)
    _, waiting, _ = reserved(hops)
    _, holding, _ = reserved(kit)
    held = waiting.allocations.get(bill_line__key="hop-1").lot
    made.analysed(held, 0.09, sampled_on=PACK_ON - timedelta(days=10))
    change = change_of(waiting)
    assert change.changes_something
    (row,) = (row for row in change.rows if row["key"] == "hop-1")
    assert row["new"] < row["old"]
    assert not change_of(holding).changes_something


def test_a_kit_whose_hop_pack_is_put_on_hold_is_offered_another_pack() -> None:
    made, hops, kit = packs_and_kits()
    first = packed_pack(made, hops)
    _, holding, _ = reserved(kit)
    second = packed_pack(made, hops)
    lot = first.conversion.outputs.get()
    hold_lot(by=made.by, lot=lot, expected=lot.version, reason="a pouch leaks")
    change = change_of(holding)
    (row,) = change.rows
    assert (row["old_lot"], row["new_lot"], row["new"]) == (first.code, second.code, 1)
    assert change.impossible == ""
