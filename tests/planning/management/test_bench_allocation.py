"""The command that measures the search for lots."""

from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from planning.management.made_up_horizon import made_up_horizon
from planning.models import LotPlan
from tests.planning.make import store


@pytest.mark.django_db
@pytest.mark.usefixtures("today_stands_still")
def test_planned_and_made_up_runs_are_measured_and_nothing_is_written():
    store().plan(10)
    said = StringIO()

    call_command("bench_allocation", runs=[4], nodes=5, stdout=said)

    text = said.getvalue()
    assert "Planned runs of this database: 1 run lines, 10 kits" in text
    assert "4 made-up runs" in text
    assert text.count("not worse than run after run") == 2
    assert not LotPlan.objects.exists()


@pytest.mark.django_db
def test_no_runs_at_all_are_refused():
    with pytest.raises(CommandError, match="at least one run"):
        call_command("bench_allocation", runs=[0], stdout=StringIO())


def test_the_made_up_runs_are_always_the_same():
    first, again = made_up_horizon(5), made_up_horizon(5)
    assert [(line.on, line.kits, line.firm) for line in first.lines] == [
        (line.on, line.kits, line.firm) for line in again.lines
    ]
    assert first.stock == again.stock
