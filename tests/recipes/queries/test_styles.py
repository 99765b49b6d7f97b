"""A beer beside its style."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from boxwort.accounts.models import History
from boxwort.errors import Refusal
from recipes.brewing.roles import MethodKind
from recipes.models import Style
from recipes.queries.figures import method_figures
from recipes.queries.recipes import recipe_detail
from recipes.queries.styles import style_check_of, style_of, style_rows
from recipes.services.styles import write_style
from tests.recipes import make

pytestmark = pytest.mark.django_db

# invented: the pale ale of the tests has OG 1.0517, FG 1.0131, 8.2 SRM
RANGES = {
    "og_min": 1.045, "og_max": 1.055, "fg_min": 1.008, "fg_max": 1.012, "abv_min": 4.5,
    "abv_max": 6.0, "ibu_min": 15, "ibu_max": 60, "srm_min": 9, "srm_max": 14,
}  # fmt: skip


def _style(**said) -> Style:
    known = {"code": "18X", "name": "Pale ale", "ranges": RANGES} | said
    return write_style(by=make.developer(), **known)


@pytest.mark.parametrize("named", ["Pale ale", "pale ALE", " 18x "])
def test_a_style_is_known_by_its_name_or_code_capitals_or_not(named):
    _style()
    found = style_of(named)
    assert found is not None
    assert (found.code, found.ranges.og_min) == ("18X", 1.045)


def test_a_beer_outside_its_style_is_told_by_how_much():
    _style()
    revision = make.pale_ale(make.catalogue())
    figures = method_figures(revision.methods.get(kind=MethodKind.EXTRACT).pk)
    check = style_check_of("Pale ale", figures)
    assert check is not None
    assert [row.figure for row in check.outside] == ["fg", "srm"]
    assert check.outside[0].distance == pytest.approx(figures.fg.value - 1.012)
    assert check.outside[1].distance == pytest.approx(figures.srm.value - 9)
    assert [method.style for method in recipe_detail("PALE-ALE").methods][1] == check


def test_a_style_that_nobody_imported_checks_nothing():
    revision = make.pale_ale(make.catalogue())
    figures = method_figures(revision.methods.get(kind=MethodKind.EXTRACT).pk)
    assert style_check_of("Pale ale", figures) is None
    assert style_check_of("", figures) is None


def test_styles_are_listed_by_name_in_one_statement():
    for number in range(10):
        _style(code=f"{number}A", name=f"Style {9 - number}")
    with CaptureQueriesContext(connection) as statements:
        assert [row.code for row in style_rows()][:2] == ["9A", "8A"]
    assert len(statements) == 1


def test_writing_the_same_style_again_changes_nothing():
    _style()
    _style()
    assert History.objects.filter(thing="recipes.style").count() == 1
    _style(ranges=RANGES | {"og_max": 1.06})
    assert Style.objects.get().og_max == 1.06
    assert History.objects.filter(thing="recipes.style").count() == 2


@pytest.mark.parametrize(
    ("said", "code"),
    [
        ({"code": "18 X"}, "code-not-valid"),
        ({"ranges": RANGES | {"og_min": 1.06}}, "style-range-reversed"),
        ({"code": "18Y"}, "entry-not-valid"),  # the name is taken
    ],
)
def test_a_style_that_cannot_be_is_refused(said, code):
    _style()
    with pytest.raises(Refusal) as refused:
        _style(**said)
    assert refused.value.code == code
