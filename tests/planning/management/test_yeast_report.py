"""The yeast report at the terminal."""

from __future__ import annotations

import pytest
from django.core.management import call_command

from tests.planning.make import TODAY, store

pytestmark = pytest.mark.django_db


def test_it_prints_each_lot_with_its_runs_and_last_days(capsys):
    made = store()
    made.lot(made.goods.ale_yeast, 40, code="ALE-FRESH", packaged_on=TODAY, received_on=TODAY)
    run = made.plan(10)
    call_command("yeast_report", on=TODAY)
    told = capsys.readouterr().out
    assert "ALE-FRESH  Ale: 40 packs on hand, 0 reserved, released" in told
    assert "100.0\N{NO-BREAK SPACE}% viable" in told
    assert "refused" in told
    assert run.code in told
    assert "KIT-PALE (2 packs): last pitch day" in told


def test_no_yeast_is_said(capsys):
    store()
    call_command("yeast_report", on=TODAY)
    assert "No yeast on hand." in capsys.readouterr().out
