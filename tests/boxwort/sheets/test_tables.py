"""One sheet may come by itself, as text with commas."""

from __future__ import annotations

import pytest

from boxwort.errors import Refusal
from boxwort.sheets import cells, opening
from boxwort.sheets.forms import SheetForm, column
from boxwort.sheets.reading import workbook_read

GRAVITIES = SheetForm(
    name="Gravities",
    unique=("code",),
    columns=(
        column("code", "Code", cells.code),
        column("name", "Name", cells.text(40)),
        column("og", "OG", cells.measured(least=1, most=1.2)),
    ),
)
SUPPLIERS = SheetForm(
    name="Suppliers",
    columns=(column("code", "Code", cells.code), column("name", "Name", cells.text(40))),
)
FORMS = (SUPPLIERS, GRAVITIES)


def test_a_table_is_known_by_its_titles() -> None:
    sent = 'code,name,og\n6A,"Märzen, amber",1.056\n\n8A,=2+2,1.050\n'.encode()
    reading = workbook_read(sent, FORMS)
    assert not reading.problems
    assert [(row.number, row["name"], row["og"]) for row in reading.rows["Gravities"]] == [
        (2, "Märzen, amber", 1.056),
        (4, "=2+2", 1.05),
    ]
    assert not reading.rows["Suppliers"]


def test_of_two_sheets_a_table_is_the_one_it_has_all_of() -> None:
    reading = workbook_read(b"Code,Name\nFARM,The farm\n", FORMS)
    assert [row["code"] for row in reading.rows["Suppliers"]] == ["FARM"]
    assert not reading.problems


def test_a_table_may_begin_with_the_mark_of_its_encoding() -> None:
    reading = workbook_read("\ufeffCode,Name,OG\n6A,Amber,1.056\n".encode(), FORMS)
    assert reading.rows["Gravities"][0]["code"] == "6A"


def test_a_bad_cell_of_a_table_is_named() -> None:
    (problem,) = workbook_read(b"Code,Name,OG\n6A,Amber,plenty\n", FORMS).problems
    assert (problem.sheet, problem.cell, problem.value) == ("Gravities", "C2", "plenty")


def test_a_table_of_nothing_known_is_a_problem_that_names_the_sheets() -> None:
    (problem,) = workbook_read(b"Dear,all\nhow,are you\n", FORMS).problems
    assert "Suppliers, Gravities" in problem.remedy


@pytest.mark.parametrize(
    "sent", [b"", b"\n", b"only one column\n", b"M\xe4rzen,1\n", b'a,"b\n', b"a,b\r\nc,\x00\xff"]
)
def test_what_is_no_table_is_no_workbook_either(sent: bytes) -> None:
    for reading in (opening.opened, opening.refuse_too_big):
        with pytest.raises(Refusal) as caught:
            reading(sent)
        assert caught.value.code == "not-a-workbook"


def test_a_table_of_too_many_bytes_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening, "MOST_BYTES", 10)
    with pytest.raises(Refusal) as caught:
        opening.refuse_too_big(b"Code,Name\nFARM,The farm\n")
    assert caught.value.code == "workbook-too-big"


def test_a_table_of_too_many_rows_is_refused_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening, "MOST_ROWS", 1)
    reading = workbook_read(b"Code,Name\nA,1\nB,2\n", FORMS)
    assert "more than" in reading.problems[0].what
    assert not reading.count
