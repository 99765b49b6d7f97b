"""Yeast that goes in at dispatch is judged on the run's page and on its sheets."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from boxwort.figures import NO_BREAK
from planning.documents.papers import weigh_sheet_pdf
from planning.models import RunLine
from planning.queries.dispatch_yeast import dispatch_notes
from planning.queries.previews import run_preview
from planning.queries.runs import batch_rows
from planning.services.runs import KitsAsked, plan_run
from recipes.models import Kit, Part
from tests.planning.documents.sample import text
from tests.planning.make import PACK_ON, planner, store
from tests.recipes.make import offered, offered_kit, pale_ale

pytestmark = pytest.mark.django_db

ORDER = ": order fresh packs."


@pytest.fixture
def made():
    made = store()
    Kit.objects.update(shelf_days=3)
    return made


def yeast(made, code, days_old, packs=40):
    today = timezone.localdate()
    made.lot(
        made.goods.ale_yeast,
        packs,
        code=code,
        packaged_on=today - timedelta(days=days_old),
        received_on=today,
    )


def note(made, kits=10):
    (line,) = run_preview(made.plan(kits)).lines
    return line.yeast_note.replace(NO_BREAK, " ")


def test_lots_too_old_for_the_floor_are_told_on_the_cut_the_batch_and_the_sheet(made):
    yeast(made, "OLD", 100)
    yeast(made, "OLDER", 200)
    said = note(made)
    assert said.startswith("Yeast goes in at dispatch: the lots of ")
    assert "below the floor of 50 %" in said
    assert said.endswith(ORDER)
    (batch,) = batch_rows(made.reserved().pk)
    assert batch.yeast_note.replace(NO_BREAK, " ") == said
    content = batch.sheet.content
    assert content["yeast"]["at_dispatch"] == batch.yeast_note
    assert said in text(weigh_sheet_pdf(content)).replace(NO_BREAK, " ")


def test_lots_between_floor_and_target_are_below_target(made):
    yeast(made, "OLDISH", 50)
    assert "below the target of 100 %" in note(made)


def test_of_fresh_packs_enough_must_be_there(made):
    Kit.objects.update(target_share=0.9, floor_share=0.5)
    yeast(made, "FRESH", 1, packs=19)
    yeast(made, "OLD", 100)
    assert "19 of the 20 packs" in note(made)
    assert note(made, kits=9) == ""


def test_without_a_lot_all_of_it_is_to_be_ordered(made):
    assert "here can be used" in note(made)


def test_of_packed_yeast_the_cut_itself_tells(made):
    revision = offered(pale_ale(made.goods, "R-PACKED"))
    made.kit = offered_kit(revision, "KIT-PACKED", made.goods, yeast_part=Part.PACKED)
    assert note(made) == ""


def test_many_kits_cost_no_more_statements(made):
    others = [
        offered_kit(offered(pale_ale(made.goods, f"R-{code}")), code, made.goods)
        for code in ("KIT-A", "KIT-B", "KIT-C")
    ]
    kits = [made.kit, *others]
    yeast(made, "OLD", 100)
    plan_run(by=planner(), pack_on=PACK_ON, lines=[KitsAsked(kit=kit, kits=5) for kit in kits])
    lines = list(RunLine.objects.select_related("kit").order_by("position"))

    def asked(some):
        with CaptureQueriesContext(connection) as statements:
            assert all(dispatch_notes(some, PACK_ON))
        return len(statements)

    assert asked(lines) == asked(lines[:1])
