"""The papers drawn from the sheets that a reserved run really has."""

from __future__ import annotations

import pytest

from planning.documents.papers import instruction_sheet_pdf, pick_list_pdf, weigh_sheet_pdf
from planning.models import SheetRevision
from planning.queries.picking import places_of
from tests.planning.documents.sample import text
from tests.planning.make import store

pytestmark = pytest.mark.django_db


def test_every_paper_draws_from_an_issued_sheet(django_assert_num_queries):
    run = store().reserved(10)
    content = SheetRevision.objects.get().content
    bittering = next(line for line in content["lines"] if line["role"] == "absorb")
    weight = f"{bittering['per_kit'] / 1000:.1f} g"
    weighed = text(weigh_sheet_pdf(content))
    assert f"{weight} ±" in weighed
    assert "BITTER-A" in weighed
    assert weight in text(instruction_sheet_pdf(content))
    with django_assert_num_queries(1):
        places = places_of({lot["code"] for line in content["lines"] for lot in line["lots"]})
    picked = text(pick_list_pdf([content], places=places))
    assert run.code in picked
    assert "Cold store" in picked
