"""The purchase list at the terminal."""

from __future__ import annotations

import pytest
from django.core.management import CommandError, call_command
from openpyxl import load_workbook

from inventory.services.catalogue import write_offer, write_supplier
from tests.planning.make import TODAY, grams, planner, store

pytestmark = pytest.mark.django_db


def test_it_writes_the_workbook_and_prints_the_table(tmp_path, capsys):
    made = store(hops=False)
    run = made.plan(10)
    hops = write_supplier(by=planner(), code="HOPS", name="Hop House")
    write_offer(
        by=planner(), supplier=hops, item=made.goods.bittering, pack_quantity=grams(500),
        breaks=[(1, 182_000)], preferred=True,
    )  # fmt: skip
    out = tmp_path / "list.xlsx"
    call_command("purchase_list", out=out, on=TODAY)
    told = capsys.readouterr().out
    assert "Hop House (HOPS): 1 line, 18.20\N{NO-BREAK SPACE}USD" in told
    assert "1 x 500.0 g" in told
    assert run.code in told
    assert "No supplier offers Aroma (AROMA): add an offer" in told
    assert load_workbook(out).sheetnames == ["Summary", "Hop House", "No supplier"]


def test_a_file_that_cannot_be_written_fails_with_the_reason(tmp_path):
    with pytest.raises(CommandError, match="could not be written"):
        call_command("purchase_list", out=tmp_path / "no" / "list.xlsx", on=TODAY)
