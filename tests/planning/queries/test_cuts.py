from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from planning.queries.cuts import run_plan
from planning.queries.proposals import proposal_rows
from planning.queries.runs import run_detail, run_rows
from planning.services.runs import KitsAsked, plan_run
from tests.planning.make import PACK_ON, do_jobs, grams, store
from tests.recipes.make import offered_kit

pytestmark = pytest.mark.django_db


def statements(read) -> int:
    with CaptureQueriesContext(
        connection,
    ) as asked:
        read()
    return len(asked)


def test_cutting_a_run_of_many_kits_asks_no_more_than_cutting_one():
    made = store()
    revision = made.kit.method.revision
    kits = [made.kit] + [
        offered_kit(revision, f"KIT-{days}", made.goods, shelf_days=days) for days in (30, 60, 120)
    ]
    one = plan_run(by=made.by, pack_on=PACK_ON, lines=[KitsAsked(kit=kits[0], kits=2)])
    many = plan_run(by=made.by, pack_on=PACK_ON, lines=[KitsAsked(kit=kit, kits=2) for kit in kits])
    assert run_plan(many).complete
    assert statements(lambda: run_plan(one)) == statements(lambda: run_plan(many))


def test_lists_of_runs_and_proposals_ask_no_more_for_many_rows_than_for_few():
    made = store()
    made.reserved(2)
    made.analysed(made.goods.bittering.lots.get(), 0.06)
    do_jobs()
    few = [statements(run_rows), statements(proposal_rows)]
    for week in range(8):
        made.reserved(1, PACK_ON + timedelta(days=week))
    made.analysed(made.goods.bittering.lots.get(), 0.07)
    do_jobs()
    assert [statements(run_rows), statements(proposal_rows)] == few


def test_a_run_of_many_batches_is_read_in_as_many_statements_as_a_run_of_one():
    made = store(hops=False)
    made.lot(made.goods.aroma, grams(3000), alpha=0.06)
    for _ in range(4):
        made.lot(made.goods.bittering, grams(250), alpha=0.08)
    one = made.reserved(2)
    many = made.reserved(15)
    assert len(run_detail(many.pk).batches) > 2
    assert statements(lambda: run_detail(one.pk)) == statements(lambda: run_detail(many.pk))


def test_later_lines_see_only_what_earlier_lines_left():
    made = store(hops=False)
    made.lot(made.goods.aroma, grams(3000), alpha=0.06)
    made.lot(made.goods.bittering, grams(300), alpha=0.08)
    other = offered_kit(made.kit.method.revision, "KIT-OTHER", made.goods)
    run = plan_run(
        by=made.by,
        pack_on=PACK_ON,
        lines=[KitsAsked(kit=made.kit, kits=5), KitsAsked(kit=other, kits=5)],
    )
    first, second = run_plan(run).lines
    assert first.possible == 5
    assert 0 < second.possible < 5
