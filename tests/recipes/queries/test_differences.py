"""What a revision changed of the one before it."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from recipes.brewing.roles import MethodKind, Use
from recipes.models import Method, Revision
from recipes.queries.differences import DifferenceRow, differences
from recipes.services.methods import write_yeasts
from recipes.services.recipes import start_revision
from tests.recipes.make import (
    Catalogue,
    catalogue,
    developer,
    line,
    offered,
    pale_ale,
    write_extract,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def goods() -> Catalogue:
    return catalogue()


@pytest.fixture
def second(goods: Catalogue) -> Revision:
    revision = offered(pale_ale(goods))
    return start_revision(by=developer(), recipe=revision.recipe)


def test_the_first_revision_changed_nothing(goods: Catalogue) -> None:
    assert differences(pale_ale(goods).pk, "metric") == (None, [])


def test_a_copy_has_no_difference(second: Revision) -> None:
    assert differences(second.pk, "metric") == (1, [])


def test_a_line_that_came_and_a_figure_that_moved_are_said(
    second: Revision, goods: Catalogue
) -> None:
    write_extract(second, goods, line(goods.crystal, Use.STEEP, 100, 20), boil_minutes=90)
    _, rows = differences(second.pk, "metric")
    assert (
        DifferenceRow(
            where="Extract with steeped grain",
            what="Crystal (CRYSTAL)",
            before="",
            after="100.0 g, steep, 20 min",
        )
        in rows
    )
    boil = next(row for row in rows if row.what == "Boil")
    assert (boil.before, boil.after) == ("60\N{NO-BREAK SPACE}min", "90\N{NO-BREAK SPACE}min")


def test_amounts_are_in_the_units_of_the_reader(second: Revision, goods: Catalogue) -> None:
    write_extract(second, goods, line(goods.crystal, Use.STEEP, 100, 20))
    _, rows = differences(second.pk, "us")
    assert any(row.after.startswith("3.53 oz") for row in rows)


def test_a_method_that_went_and_another_yeast_are_said(second: Revision, goods: Catalogue) -> None:
    Method.objects.filter(revision=second, kind=MethodKind.ALL_GRAIN).delete()
    write_yeasts(by=developer(), revision=second, items=[goods.dry_ale_yeast])
    _, rows = differences(second.pk, "metric")
    assert [(row.where, row.before, row.after) for row in rows] == [
        ("All-grain", "Written", ""),
        ("Yeasts", "Ale, Dry-Ale", "Dry-Ale"),
    ]


def test_more_lines_take_as_many_statements(second: Revision, goods: Catalogue) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as statements:
            differences(second.pk, "metric")
        return len(statements)

    few = asked()
    write_extract(second, goods, *(line(goods.gypsum, Use.BOIL, n + 1, 60) for n in range(20)))
    assert asked() == few


def test_bottles_that_became_heavy_are_said(second: Revision, goods: Catalogue) -> None:
    write_extract(second, goods, carbonation_volumes=4.5, heavy_bottles=True)
    _, rows = differences(second.pk, "metric")
    label = "Extract with steeped grain"
    heavy = DifferenceRow(where=label, what="Heavy bottles", before="No", after="Yes")
    assert heavy in rows
