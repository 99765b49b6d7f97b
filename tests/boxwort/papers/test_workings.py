"""A figure on paper: its rows, and its words."""

from __future__ import annotations

from datetime import date

from boxwort.figures import NO_BREAK
from boxwort.papers.printing import Reader
from boxwort.papers.workings import Section, working_rows, workings_pdf
from boxwort.working import Term, Working
from tests.planning.documents.sample import text

READER = Reader(producer="Fernhollow Kit Works", on=date(2026, 11, 25))


def figure(name, value, *parts, source="A. Writer", **facts):
    terms = (
        Term(name="weight", value=1234567.0, unit="mg"),
        Term(name="share", value=0.5, unit=""),
    )
    known = {"formula": "weight * share", "unit": "g", "notes": ("Mind this.",), **facts}
    return Working(name=name, value=value, terms=terms, source=source, parts=parts, **known)


def test_parts_follow_the_figure_they_are_of_one_step_in():
    inner = figure("Inner", 1.0)
    rows = working_rows(figure("Outer", 3.0, figure("First", 1.0, inner), figure("Second", 2.0)))
    assert [(row["name"], row["depth"]) for row in rows] == [
        ("Outer", 0),
        ("First", 1),
        ("Inner", 2),
        ("Second", 1),
    ]


def test_numbers_are_written_as_on_the_pages():
    (row,) = working_rows(figure("Outer", 1.0521499))
    assert row["value"] == f"1.0521{NO_BREAK}g"
    assert [term["value"] for term in row["terms"]] == [f"1,234,567{NO_BREAK}mg", "0.5"]


def test_a_source_is_said_once_for_a_figure_and_what_it_is_made_of():
    other = figure("Second", 2.0, source="B. Other")
    rows = working_rows(figure("Outer", 3.0, figure("First", 1.0), other))
    assert [row["source"] for row in rows] == ["A. Writer", "", "B. Other"]


def test_the_paper_has_formula_terms_notes_and_source_and_leaves_out_empty_sections():
    sections = [
        Section(title="Bitterness", figures=[figure("Outer", 3.0)], note="Of a test."),
        Section(title="Nothing here", figures=[]),
    ]
    words = text(workings_pdf(sections, title="Figures #1 *a*", lead="Lead.", reader=READER))
    for said in ("Figures #1 *a*", "Of a test.", "weight * share", "Mind this.", "A. Writer"):
        assert said in words
    assert "Nothing here" not in words
