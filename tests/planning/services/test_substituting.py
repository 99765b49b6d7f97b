"""Approved substitutes in a run: the plan, the stock, the sheet and the papers follow."""

import pytest

from boxwort.accounts.models import History
from boxwort.errors import Refusal
from boxwort.quantities import MG_PER_KG
from inventory.models import Item
from planning.documents.papers import instruction_sheet_pdf, pick_list_pdf
from planning.documents.wording import stands_in
from planning.engine.plan import planned
from planning.models import Allocation, Batch, Run, RunLineSubstitute, SheetRevision
from planning.queries.cuts import run_plan
from planning.queries.plan_input import plan_input
from planning.queries.previews import run_preview
from planning.queries.purchasing import purchase_plan
from planning.queries.requirements import requirement_rows
from planning.queries.runs import batch_rows, run_detail
from planning.queries.verify import batch_check
from planning.services.packing import start_packing
from planning.services.proposing import accept_proposal
from planning.services.reserving import give_run_back, reserve_run
from planning.services.runs import KitsAsked, change_run, plan_run
from planning.services.substituting import choose_substitutes
from recipes.queries.kit_designs import figures_with
from tests.planning.make import (
    PACK_ON,
    TODAY,
    ale_with_substitutes,
    do_jobs,
    grams,
    open_proposals,
    pack,
    stand_in,
    store,
    using,
)
from tests.recipes.make import offered, offered_kit, pale_ale

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]


def item(code: str) -> Item:
    return Item.objects.get(code=code)


def without_bitter():
    """Return a store that has the other hop, and none of the bittering one."""
    made = store(hops=False, recipe=ale_with_substitutes)
    made.lot(made.goods.aroma, grams(3000), code="AROMA-A", alpha=0.06)
    made.lot(item("OTHER"), grams(2000), code="OTHER-A", alpha=0.12)
    made.lot(item("WHEAT"), 200 * MG_PER_KG, code="WHEAT-A")
    return made


def reserved_with(*keys: str):
    made = without_bitter()
    run = using(made, made.plan(), *keys)
    reserve_run(by=made.by, run=run, expected=run.version)
    run.refresh_from_db()
    return made, run


def sheet():
    return SheetRevision.objects.get(voided_at__isnull=True)


def sheet_line(key: str):
    return next(line for line in sheet().content["lines"] if line["key"] == key)


def refused(code: str, work) -> Refusal:
    with pytest.raises(Refusal) as told:
        work()
    assert told.value.code == code
    return told.value


def test_a_run_that_is_short_of_a_hop_is_packed_with_its_substitute():
    made = without_bitter()
    run = made.plan()
    assert not run_plan(run).complete
    using(made, run, "hop-1")
    plan = run_plan(run)
    assert plan.complete
    (batch,) = plan.lines[0].batches
    assert batch.balance.ibu_corrected == pytest.approx(batch.balance.ibu_target, abs=0.3)
    taken = next(row for row in batch.taken if row.key == "hop-1")
    # 2.9 g of alpha acid of 12 % hops, a little more for what it loses until brew day
    assert grams(24) < taken.per_kit < grams(30)


def test_what_is_reserved_keeps_the_row_of_the_bill_and_the_lot_of_the_substitute():
    reserved_with("hop-1", "malt-1")
    rows = {row.bill_line.key: row for row in Allocation.objects.filter(current=True)}
    assert rows["hop-1"].lot.code == "OTHER-A"
    assert rows["hop-1"].bill_line.item.code == "BITTER"
    assert rows["malt-1"].lot.code == "WHEAT-A"
    assert batch_check().differences == ()


def test_it_is_reserved_with_its_own_overage():
    reserved_with("hop-1")
    row = Allocation.objects.get(bill_line__key="hop-1")
    assert row.quantity == -(-row.per_kit * 10 * 103 // 100)


def test_the_sheet_names_what_stands_in_for_what_and_who_approved_it():
    made, _ = reserved_with("hop-1")
    line = sheet_line("hop-1")
    assert (line["item_name"], line["stands_for"]) == ("Other", "Bitter")
    assert line["approved_by"] == stand_in(made.kit, "hop-1").approved_by == "robin"
    assert stands_in(line) == "Stands in for Bitter, approved by robin"
    assert stands_in(sheet_line("hop-2")) == ""
    assert instruction_sheet_pdf(sheet().content).startswith(b"%PDF")
    assert pick_list_pdf([sheet().content], places={}).startswith(b"%PDF")


def test_the_sheet_counts_the_allergens_that_are_really_in_the_box():
    made, run = reserved_with("hop-1", "malt-1")
    assert sheet().content["allergens"] == ["barley", "wheat"]
    give_run_back(by=made.by, run=run, expected=run.version)
    made.lot(made.goods.bittering, grams(2000), alpha=0.08)
    run.refresh_from_db()
    line = run.lines.get().pk
    choose_substitutes(
        by=made.by,
        run=run,
        expected=run.version,
        chosen={line: {"hop-1": None, "malt-1": None}},
    )
    reserve_run(by=made.by, run=run, expected=run.version)
    assert sheet().content["allergens"] == ["barley"]


def test_the_sheet_has_the_figures_of_the_beer_with_both_substitutes():
    made, _ = reserved_with("hop-1", "malt-1")
    both = figures_with(made.kit.pk, {key: stand_in(made.kit, key) for key in ("hop-1", "malt-1")})
    said = sheet().content["figures"]
    assert said["og"] == both.og.value
    assert said["og"] < made.kit.figures["og"]["value"] - 0.001
    assert said["ibu"] == pytest.approx(said["ibu_target"], abs=0.3)


def test_the_plan_and_the_run_say_what_stands_in():
    made, run = reserved_with("hop-1")
    (row,) = batch_rows(run.pk)
    other = next(each for each in row.allocations if each.key == "hop-1")
    frozen = stand_in(made.kit, "hop-1")
    assert (other.item_name, other.stands_for, other.reference) == (
        "Other",
        "Bitter",
        frozen.packed,
    )
    (line,) = run_detail(run.pk).lines
    (used,) = line.substitutes
    assert (used.item_name, used.stands_for, used.approved_by) == ("Other", "Bitter", "robin")
    planned = using(made, made.plan(2), "hop-1")
    (batch,) = run_preview(planned).lines[0].batches
    shown = next(each for each in batch.hops if each.lot_code == "OTHER-A")
    assert (shown.item_name, shown.stands_for, shown.reference) == (
        "Other",
        "Bitter",
        frozen.packed,
    )


def needs():
    """Return what the plan needs, by item code."""
    return {row.item_code: row.needs for row in requirement_rows(planned(plan_input(TODAY)))}


def test_the_substitute_is_required_and_bought_and_the_original_is_not():
    made = store(hops=False, recipe=ale_with_substitutes)
    run = made.plan()
    assert "OTHER" not in needs()
    using(made, run, "hop-1")
    found = needs()
    assert "BITTER" not in found
    (need,) = found["OTHER"]
    packed = stand_in(made.kit, "hop-1").packed
    assert need.quantity == -(-packed * 10 * 103 // 100)
    unoffered = {row.item_code for row in purchase_plan(TODAY).unoffered}
    assert "OTHER" in unoffered
    assert "BITTER" not in unoffered


def test_a_reserved_run_requires_what_its_batches_hold():
    reserved_with("hop-1")
    found = needs()
    (need,) = found["OTHER"]
    assert need.quantity == Allocation.objects.get(bill_line__key="hop-1").quantity
    assert "BITTER" not in found


def test_a_new_analysis_of_the_substitute_balances_the_batch_again():
    made, _ = reserved_with("hop-1")
    lot = Allocation.objects.get(bill_line__key="hop-1").lot
    made.analysed(lot, 0.10)
    do_jobs()
    (proposal,) = open_proposals()
    changed = {row["key"]: row for row in proposal.rows if row["old"] != row["new"]}
    assert changed["hop-1"]["item_code"] == "OTHER"
    assert changed["hop-1"]["new"] > changed["hop-1"]["old"]
    accept_proposal(by=made.by, proposal=proposal)
    assert sheet_line("hop-1")["stands_for"] == "Bitter"
    assert batch_check().differences == ()


def test_a_batch_with_a_substitute_is_packed_like_any_other():
    made, run = reserved_with("hop-1", "malt-1")
    start_packing(by=made.by, run=run, expected=run.version)
    batch = Batch.objects.select_related("run_line__run", "run_line__kit__item").get()
    pack(made, batch)
    assert batch_check().differences == ()


def test_only_the_kits_of_the_line_that_chose_it_use_it():
    made = without_bitter()
    made.lot(made.goods.bittering, grams(2000), code="BITTER-A", alpha=0.08)
    second = offered_kit(offered(pale_ale(made.goods, "PLAIN")), "KIT-PLAIN", made.goods)
    asked = [KitsAsked(kit=made.kit, kits=5), KitsAsked(kit=second, kits=5)]
    run = plan_run(by=made.by, pack_on=PACK_ON, lines=asked)
    line = run.lines.get(kit=made.kit)
    chosen = {line.pk: {"hop-1": stand_in(made.kit, "hop-1").id}}
    choose_substitutes(by=made.by, run=run, expected=run.version, chosen=chosen)
    lots = {
        each.run_line.kit.item.code: {row.item_code for row in each.needs.hops}
        for each in run_plan(run).lines
    }
    assert lots == {"KIT-PALE": {"OTHER", "AROMA"}, "KIT-PLAIN": {"BITTER", "AROMA"}}


def test_a_changed_run_keeps_its_substitutes():
    made = without_bitter()
    run = using(made, made.plan(), "hop-1")
    asked = [KitsAsked(kit=made.kit, kits=4)]
    change_run(by=made.by, run=run, expected=run.version, pack_on=PACK_ON, lines=asked)
    assert RunLineSubstitute.objects.get().key == "hop-1"


def test_a_reserved_run_is_given_back_before_something_else_goes_in():
    made, run = reserved_with("hop-1")
    told = refused("run-not-planned", lambda: using(made, run, "malt-1"))
    assert "Give its stock back" in told.remedy


def test_only_what_was_approved_for_that_row_may_stand_for_it():
    made = without_bitter()
    run = made.plan()
    line = run.lines.get().pk
    wheat = stand_in(made.kit, "malt-1").id
    told = refused(
        "substitute-not-approved",
        lambda: choose_substitutes(
            by=made.by, run=run, expected=run.version, chosen={line: {"hop-1": wheat}}
        ),
    )
    assert "Bitter" in told.what
    assert not RunLineSubstitute.objects.exists()


def test_a_line_of_another_run_is_refused():
    made = without_bitter()
    one, other = made.plan(), made.plan()
    chosen = {other.lines.get().pk: {"hop-1": stand_in(made.kit, "hop-1").id}}
    refused(
        "line-of-another-run",
        lambda: choose_substitutes(by=made.by, run=one, expected=one.version, chosen=chosen),
    )


def test_of_two_people_who_choose_at_once_the_second_is_told():
    made = without_bitter()
    run = made.plan()
    using(made, run, "hop-1")
    seen = Run.objects.get()
    seen.version -= 1
    refused("changed-by-someone-else", lambda: using(made, seen, "malt-1"))


def test_the_history_says_what_was_chosen_and_taken_back():
    made = without_bitter()
    run = using(made, made.plan(), "hop-1")
    line = run.lines.get()
    choose_substitutes(by=made.by, run=run, expected=run.version, chosen={line.pk: {"hop-1": None}})
    said = History.objects.filter(thing="planning.runline", thing_id=line.pk).order_by("pk")
    assert [(row.action, row.before, row.after) for row in said] == [
        ("choose substitute", {}, {"hop-1": "OTHER"}),
        ("use the original again", {"hop-1": "OTHER"}, {}),
    ]
