"""What was measured on lots of malt, extract and sugar, as the figures of a beer take it."""

from __future__ import annotations

from datetime import date

import pytest

from inventory.models import AnalysisKind, ItemKind
from inventory.queries.grist import MeasuredMalt, measured_lots
from inventory.services.analyses import record_analysis
from tests import make

pytestmark = pytest.mark.django_db

SAMPLED_ON = date(2026, 1, 15)


def _analysed(lot, kind, value, sampled_on=SAMPLED_ON, **facts):
    return record_analysis(
        by=make.user(), lot=lot, kind=kind, sampled_on=sampled_on, value=value, **facts
    )


def test_a_malt_is_what_its_newest_standing_analyses_say():
    lot = make.lot()
    _analysed(lot, AnalysisKind.EXTRACT, 300.0, date(2026, 1, 6))
    wrong = _analysed(lot, AnalysisKind.COLOUR, 34.0)
    _analysed(lot, AnalysisKind.EXTRACT, 310.0)
    _analysed(lot, AnalysisKind.COLOUR, 3.4, supersedes=wrong)
    _analysed(lot, AnalysisKind.POWER, 110.0)
    assert measured_lots([lot.pk]) == {
        lot.pk: MeasuredMalt(points_l_per_kg=310.0, colour_lovibond=3.4, power_lintner=110.0)
    }


def test_what_nobody_measured_is_not_made_up():
    lot = make.lot()
    _analysed(lot, AnalysisKind.COLOUR, 3.4)
    assert measured_lots([lot.pk])[lot.pk] == MeasuredMalt(
        points_l_per_kg=None, colour_lovibond=3.4, power_lintner=None
    )


def test_extract_and_power_on_dry_matter_are_put_to_the_malt_as_it_is():
    lot = make.lot()
    _analysed(lot, AnalysisKind.MOISTURE, 0.05, date(2026, 1, 6))
    _analysed(lot, AnalysisKind.MOISTURE, 0.04)
    _analysed(lot, AnalysisKind.EXTRACT, 305.0, basis="dry")
    _analysed(lot, AnalysisKind.POWER, 100.0, basis="dry")
    found = measured_lots([lot.pk])[lot.pk]
    assert found.points_l_per_kg == pytest.approx(305.0 * 0.96)
    assert found.power_lintner == pytest.approx(96.0)


def test_a_hop_is_no_part_of_a_grist():
    assert measured_lots([make.lot(item=make.item("FUG", ItemKind.HOP)).pk]) == {}


@pytest.mark.parametrize("count", [3, 30])
def test_a_grist_costs_two_statements_however_many_lots(count, django_assert_num_queries):
    lots = [make.lot() for _ in range(count)]
    for lot in lots:
        _analysed(lot, AnalysisKind.COLOUR, 3.4)
    with django_assert_num_queries(2):
        assert len(measured_lots([lot.pk for lot in lots])) == count
