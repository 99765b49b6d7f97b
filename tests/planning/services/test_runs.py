import pytest

from boxwort.errors import Refusal
from planning.models import Run, RunState
from planning.services.reserving import give_run_back, reserve_run
from planning.services.runs import KitsAsked, change_run, plan_run
from recipes.services.offering import retire_revision
from tests.make import refused
from tests.planning.make import PACK_ON, store
from tests.recipes.make import developer, kit, offered_kit

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]


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


def test_a_run_that_was_taken_back_to_plan_can_be_changed():
    made = store()
    run = made.reserved(10)
    give_run_back(by=made.by, run=run, expected=run.version)
    lines = [KitsAsked(kit=made.kit, kits=5)]
    change_run(by=made.by, run=run, expected=run.version, pack_on=PACK_ON, lines=lines)
    assert run.lines.get().kits == 5
    (batch,) = reserve_run(by=made.by, run=run, expected=run.version)
    assert batch.kits == 5


def test_a_kit_that_had_batches_stays_in_its_run():
    made = store()
    run = made.reserved(10)
    give_run_back(by=made.by, run=run, expected=run.version)
    other = offered_kit(made.kit.method.revision, "KIT-OTHER", made.goods)
    lines = [KitsAsked(kit=other, kits=5)]
    with refused("kit-had-batches"):
        change_run(by=made.by, run=run, expected=run.version, pack_on=PACK_ON, lines=lines)
    assert run.lines.get().kit == made.kit


@pytest.mark.parametrize(
    ("code", "why"),
    [
        ("SPRING", "run-code-taken"),
        ("spring run", "code-not-valid"),
        ("SPRING-AND-SUMMER", "run-code-too-long"),
    ],
)
def test_a_run_has_a_code_of_its_own_that_leaves_room_for_its_batches(code, why):
    made = store()
    lines = [KitsAsked(kit=made.kit, kits=2)]
    plan_run(by=made.by, pack_on=PACK_ON, lines=lines, code="SPRING")
    with refused(why):
        plan_run(by=made.by, pack_on=PACK_ON, lines=lines, code=code)


def test_a_note_that_is_too_long_is_refused():
    made = store()
    with refused("text-too-long"):
        plan_run(
            by=made.by,
            pack_on=PACK_ON,
            lines=[KitsAsked(kit=made.kit, kits=2)],
            note="x" * 201,
        )


def test_a_pack_date_in_another_century_is_a_slip_of_the_pen():
    made = store()
    with pytest.raises(Refusal) as refused:
        made.plan(1, PACK_ON.replace(year=2206))
    assert refused.value.code == "run-too-far-off"
    assert not Run.objects.exists()


@pytest.mark.parametrize(("kits", "code"), [(0, "kits-not-positive"), (10**20, "kits-too-many")])
def test_a_number_of_kits_that_nobody_packs_is_a_slip_of_the_pen(kits, code):
    made = store()
    with refused(code):
        made.plan(kits)
