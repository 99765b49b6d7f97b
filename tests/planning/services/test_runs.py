import pytest

from boxwort.errors import Refusal
from planning.models import Run, RunState
from planning.services.reserving import reserve_run
from planning.services.runs import KitsAsked, change_run, plan_run
from recipes.services.offering import retire_revision
from tests.planning.make import PACK_ON, store
from tests.recipes.make import developer, kit

pytestmark = pytest.mark.django_db


def test_runs_of_one_day_are_numbered():
    made = store()
    assert [made.plan(1).code, made.plan(2).code] == ["R260309-1", "R260309-2"]


def test_a_run_without_kits_is_not_planned():
    made = store()
    with pytest.raises(Refusal) as refused:
        plan_run(by=made.by, pack_on=PACK_ON, lines=[])
    assert refused.value.code == "run-empty"


def test_a_kit_stands_on_one_line_of_a_run_only():
    made = store()
    line = KitsAsked(kit=made.kit, kits=2)
    with pytest.raises(Refusal, match="stands twice"):
        plan_run(by=made.by, pack_on=PACK_ON, lines=[line, line])
    assert not Run.objects.exists()


def test_a_kit_that_is_not_offered_is_not_planned():
    made = store()
    draft = kit(made.kit.method.revision, "KIT-SMALL", made.goods)
    with pytest.raises(Refusal) as refused:
        plan_run(by=made.by, pack_on=PACK_ON, lines=[KitsAsked(kit=draft, kits=2)])
    assert refused.value.code == "kit-not-offered"


def test_a_kit_of_a_retired_revision_is_not_planned():
    made = store()
    revision = made.kit.method.revision
    retire_revision(by=developer(), revision=revision, expected=revision.version)
    made.kit.refresh_from_db()
    with pytest.raises(Refusal) as refused:
        made.plan(2)
    assert refused.value.code == "revision-retired"


def test_a_yeast_the_kit_is_not_offered_with_is_refused():
    made = store()
    line = KitsAsked(kit=made.kit, kits=2, yeast=made.goods.pale_malt)
    with pytest.raises(Refusal) as refused:
        plan_run(by=made.by, pack_on=PACK_ON, lines=[line])
    assert refused.value.code == "yeast-not-offered"


def test_a_planned_run_is_changed_and_a_reserved_one_is_not():
    made = store()
    run = made.plan(5)
    lines = [KitsAsked(kit=made.kit, kits=8)]
    change_run(by=made.by, run=run, expected=run.version, pack_on=PACK_ON, lines=lines)
    assert run.lines.get().kits == 8
    reserve_run(by=made.by, run=run, expected=run.version)
    run.refresh_from_db()
    assert run.state == RunState.RESERVED
    with pytest.raises(Refusal) as refused:
        change_run(by=made.by, run=run, expected=run.version, pack_on=PACK_ON, lines=lines)
    assert refused.value.code == "run-not-planned"
