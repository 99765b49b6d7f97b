"""The command that measures planning."""

from __future__ import annotations

from contextlib import nullcontext
from io import StringIO

import numpy as np
import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection

from planning.engine.phased import phased
from planning.management import made_up_plan as sizes
from planning.management.commands import bench_plan
from planning.management.made_up_plan import WEEKS, BareArithmetic, MadeUpPlan, made_up_plan
from planning.models import Plan


@pytest.fixture
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let scale 1 be eight kits."""
    monkeypatch.setattr(sizes, "KITS", 8)
    monkeypatch.setattr(sizes, "SHARES", (4, 4, 1, 6))
    monkeypatch.setattr(sizes, "LOTS", 40)


@pytest.fixture
def plan(small: None) -> MadeUpPlan:
    return made_up_plan(1)


@pytest.mark.django_db
@pytest.mark.usefixtures("small")
def test_every_step_stands_beside_the_bare_arithmetic(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(bench_plan, "throw_away_database", nullcontext)
    said = StringIO()

    call_command("bench_plan", scale=[1, 2], stored=[1], rounds=1, stdout=said)

    text = said.getvalue()
    for heading in ("Arrays, scale 1", "Arrays, scale 2", f"Stored in {connection.vendor}"):
        assert heading in text
    for step in ("bare arithmetic", "explode", "net with expiry", "size", "read", "plan", "save"):
        assert f"\n{step} " in text
    assert "Reading took" in text
    assert Plan.objects.exists()


def test_no_scale_below_one_is_measured():
    with pytest.raises(CommandError, match="at least 1"):
        call_command("bench_plan", scale=[0], stdout=StringIO())


def test_reading_that_takes_more_statements_for_more_rows_fails(monkeypatch: pytest.MonkeyPatch):
    step = bench_plan.Taken(rounds=1, seconds=1.0, megabytes=1.0)
    steps = dict.fromkeys(("bare arithmetic", "read", "plan", "save"), step)
    statements = iter((20, 21))
    monkeypatch.setattr(bench_plan, "made_up_plan", lambda scale: scale)
    monkeypatch.setattr(bench_plan, "throw_away_database", nullcontext)
    monkeypatch.setattr(bench_plan, "store", lambda *_: None)
    monkeypatch.setattr(bench_plan, "stored_taken", lambda *_: (steps, next(statements)))
    with pytest.raises(CommandError, match="more statements"):
        call_command("bench_plan", scale=[], stored=[1, 2], stdout=StringIO())


def test_the_made_up_plan_is_always_the_same(plan: MadeUpPlan):
    again = made_up_plan(1)
    assert (plan.wanted == again.wanted).all()
    assert (plan.supplies.quantity == again.supplies.quantity).all()


def test_no_ingredient_stands_twice_in_a_kit(plan: MadeUpPlan):
    rows = list(zip(plan.bills.parent.tolist(), plan.bills.component.tolist(), strict=True))
    assert len(set(rows)) == len(rows) == 8 * sizes.LINES


def test_without_expiry_ageing_and_overage_the_engine_nets_as_the_bare_arithmetic(
    plan: MadeUpPlan,
):
    """What is wanted by weight; the groups of a yeast are one there."""
    bare = BareArithmetic(plan)
    gross = bare.gross()
    assert gross.sum() == (plan.wanted.sum(axis=1)[plan.bills.parent] * plan.bills.packed).sum()
    found = phased(
        sizes.Demands(item=np.arange(plan.ingredients), weight=gross.astype(np.int64)),
        sizes.Supplies(
            item=plan.supplies.item,
            quantity=plan.supplies.quantity,
            first=plan.supplies.first,
            last=np.full(len(plan.supplies.item), WEEKS),
        ),
        items=plan.ingredients,
    )
    assert np.array_equal(found.net, bare.net())
