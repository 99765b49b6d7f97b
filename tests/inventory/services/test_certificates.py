"""A certificate's numbers in the units of the books."""

from __future__ import annotations

from decimal import Decimal

import pytest

from boxwort.laboratory import potential
from inventory.models import AnalysisKind
from inventory.models.analyses import ANALYSIS_UNITS
from inventory.services.certificates import WRITTEN_UNITS, Said, check_given, said
from tests import make


def test_every_kind_can_be_written():
    assert set(WRITTEN_UNITS) == set(AnalysisKind) == set(ANALYSIS_UNITS)


@pytest.mark.parametrize(
    ("kind", "number", "unit", "kept"),
    [
        (AnalysisKind.ALPHA, "5.2", "%", 0.052),
        (AnalysisKind.MOISTURE, "4.1", "%", 0.041),
        (AnalysisKind.STORAGE_INDEX, "0.31", "ratio", 0.31),
        (AnalysisKind.EXTRACT, "317.5", "L°/kg", 317.5),
        (AnalysisKind.COLOUR, "3.4", "°L", 3.4),
        (AnalysisKind.POWER, "110", "°Lintner", 110.0),
        (AnalysisKind.CELLS, "205", "billion cells", 2.05e11),
    ],
)
def test_the_books_own_unit_is_kept_as_it_stands(kind, number, unit, kept):
    assert said(kind, Decimal(number), unit) == Said(value=kept)


@pytest.mark.parametrize(
    ("kind", "number", "unit", "kept"),
    [
        (AnalysisKind.EXTRACT, "38", "ppg", 317.125),
        (AnalysisKind.EXTRACT, "79", "%", potential(0.79, 0.0)),
        (AnalysisKind.COLOUR, "7.9", "EBC", 3.5214),
        (AnalysisKind.COLOUR, "4.0102", "SRM", 3.5215),
        (AnalysisKind.POWER, "334", "°WK", 100.0),
    ],
)
def test_another_unit_is_converted_and_the_papers_number_stays(kind, number, unit, kept):
    found = said(kind, Decimal(number), unit)
    assert found.value == pytest.approx(kept, abs=5e-4)
    assert (found.given_value, found.given_unit) == (float(number), unit)
    check_given(kind, found.value, found.given_value, found.given_unit)


def test_a_dry_extract_and_the_moisture_give_what_the_malt_gives():
    dry = said(AnalysisKind.EXTRACT, Decimal(79), "%").value
    assert dry * (1 - 0.04) == pytest.approx(potential(0.79, 0.04))


@pytest.mark.parametrize(
    ("kind", "number", "unit", "code"),
    [
        (AnalysisKind.ALPHA, "5", "°L", "unit-does-not-fit"),
        (AnalysisKind.COLOUR, "5", "", "unit-does-not-fit"),
        (AnalysisKind.EXTRACT, "120", "%", "value-not-possible"),
    ],
)
def test_a_number_that_a_kind_cannot_have_is_refused(kind, number, unit, code):
    with pytest.raises(make.Refusal) as caught:
        said(kind, Decimal(number), unit)
    assert caught.value.code == code
    assert caught.value.remedy
