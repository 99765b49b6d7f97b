"""Importing a workbook at the terminal."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from boxwort.accounts.models import History
from inventory.models import Lot
from tests.make import user
from tests.planning.workbooks import small, xlsx

pytestmark = pytest.mark.django_db


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "stock.xlsx"
    path.write_bytes(xlsx(small()))
    return path


def spoiled(file: Path) -> None:
    sheets = small()
    sheets["Lots"][0]["Amount"] = "plenty"
    file.write_bytes(xlsx(sheets))


def test_it_prints_how_many_rows_were_new(file, capsys):
    user(username="ada")
    call_command("import_sheet", file, username="ada")
    told = [line.split() for line in capsys.readouterr().out.splitlines()]
    assert ["Lots", "2", "0", "0"] in told
    assert History.objects.get(action="import-workbook").by.username == "ada"


def test_checking_says_that_all_is_well_and_writes_nothing(file, capsys):
    call_command("import_sheet", file, check=True)
    assert "stock.xlsx can be imported as it is." in capsys.readouterr().out
    assert not Lot.objects.exists()


@pytest.mark.parametrize("check", [True, False])
def test_a_bad_row_is_printed_with_its_cell_and_the_command_fails(file, capsys, check):
    spoiled(file)
    with pytest.raises(CommandError, match="1 problem; nothing of it was imported") as caught:
        call_command("import_sheet", file, check=check)
    assert caught.value.returncode == 1
    told = capsys.readouterr().out
    assert "Lots   C2    Amount  plenty  This is not a number." in told
    assert not Lot.objects.exists()


def test_a_file_that_is_not_there_or_is_no_workbook_is_said_plainly(tmp_path):
    with pytest.raises(CommandError, match="could not be read"):
        call_command("import_sheet", tmp_path / "none.xlsx")
    (tmp_path / "letter.xlsx").write_text("Dear all")
    with pytest.raises(CommandError, match="not an xlsx workbook"):
        call_command("import_sheet", tmp_path / "letter.xlsx")
