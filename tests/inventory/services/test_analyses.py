"""Analyses: recorded once, told to other apps, and refused where they cannot be."""

from __future__ import annotations

from dataclasses import asdict
from decimal import Decimal

import pytest

from inventory import events
from inventory.models import Analysis, AnalysisKind, ItemKind
from inventory.services.analyses import record_analysis
from inventory.services.certificates import said
from tests import make

pytestmark = pytest.mark.django_db


@pytest.fixture
def hop(db):
    return make.lot("FUG-1", item=make.item("FUG", ItemKind.HOP))


def _recorded(lot, value=0.05, **facts):
    wanted = {"kind": AnalysisKind.ALPHA, "sampled_on": make.RECEIVED_ON, **facts}
    return record_analysis(by=make.user(), lot=lot, value=value, **wanted)


def test_an_analysis_is_kept_with_its_sample_day_and_told(hop):
    told = []

    def hear(signal, sender, **facts):
        told.append(facts)

    events.lot_analysed.connect(hear)
    try:
        analysis = _recorded(hop, 0.052, method="hplc", spread=0.02)
    finally:
        events.lot_analysed.disconnect(hear)
    assert (analysis.value, analysis.method, analysis.sampled_on) == (
        0.052,
        "hplc",
        make.RECEIVED_ON,
    )
    assert told == [{"lot_id": hop.pk, "kind": AnalysisKind.ALPHA, "by": make.user()}]


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({"value": 5.2}, "value-not-a-share"),
        ({"value": 0.0}, "alpha-not-possible"),
        ({"value": 0.55}, "alpha-not-possible"),
        ({"kind": AnalysisKind.MOISTURE, "value": 1.0}, "moisture-not-possible"),
        ({"value": -0.01}, "value-not-possible"),
        ({"value": float("nan")}, "value-not-possible"),
        ({"value": float("inf")}, "value-not-possible"),
        ({"spread": 3}, "spread-not-possible"),
        ({"spread": float("nan")}, "spread-not-possible"),
        ({"method": "tasting"}, "word-not-known"),
        ({"basis": "wet"}, "word-not-known"),
        ({"kind": "smell"}, "word-not-known"),
        ({"kind": AnalysisKind.CELLS}, "analysis-of-wrong-kind"),
        ({"basis": "dry"}, "moisture-not-known"),
        ({"kind": AnalysisKind.STORAGE_INDEX, "value": 0.3, "basis": "dry"}, "basis-does-not-fit"),
        ({"kind": AnalysisKind.STORAGE_INDEX, "value": 0.0}, "value-not-possible"),
        ({"kind": AnalysisKind.STORAGE_INDEX, "value": 31.0}, "value-not-possible"),
        (
            {"kind": AnalysisKind.STORAGE_INDEX, "value": 0.3, "at_harvest": True},
            "harvest-value-of-alpha-only",
        ),
        ({"given_value": 5.0, "given_unit": "ppg"}, "unit-does-not-fit"),
        ({"given_value": 6.0, "given_unit": "%"}, "given-does-not-fit"),
        ({"given_value": 5.0}, "unit-does-not-fit"),
        ({"given_unit": "%"}, "given-does-not-fit"),
    ],
)
def test_an_analysis_that_cannot_be_is_refused(hop, facts, code):
    with make.refused(code) as caught:
        _recorded(hop, **facts)
    assert caught.value.remedy
    assert not Analysis.objects.exists()


def test_alpha_on_dry_basis_is_taken_once_the_moisture_is_known(hop):
    _recorded(hop, 0.08, kind=AnalysisKind.MOISTURE)
    assert _recorded(hop, 0.05, basis="dry").basis == "dry"


def test_a_wrong_analysis_is_superseded_once_by_one_of_its_kind(hop):
    wrong, moisture = _recorded(hop, 0.25), _recorded(hop, 0.08, kind=AnalysisKind.MOISTURE)
    with make.refused("supersedes-another-thing"):
        _recorded(hop, supersedes=moisture)
    other = make.lot("FUG-2", item=hop.item)
    with make.refused("supersedes-another-thing"):
        _recorded(other, supersedes=wrong)
    _recorded(hop, supersedes=wrong)
    with make.refused("analysis-already-superseded"):
        _recorded(hop, supersedes=wrong)


def test_a_malt_is_kept_in_degrees_l_with_what_the_paper_says(db):
    malt = make.lot()
    found = said(AnalysisKind.COLOUR, Decimal("7.9"), "EBC")
    kept = _recorded(malt, kind=AnalysisKind.COLOUR, **asdict(found))
    assert kept.value == pytest.approx((7.9 / 1.97 + 0.76) / 1.3546)
    assert (kept.given_value, kept.given_unit) == (7.9, "EBC")


def test_extract_and_power_on_dry_matter_need_the_moisture_as_alpha_does(db):
    malt = make.lot()
    for kind, value in ((AnalysisKind.EXTRACT, 305.0), (AnalysisKind.POWER, 110.0)):
        with make.refused("moisture-not-known"):
            _recorded(malt, value, kind=kind, basis="dry")
    _recorded(malt, 0.04, kind=AnalysisKind.MOISTURE)
    assert _recorded(malt, 305.0, kind=AnalysisKind.EXTRACT, basis="dry").basis == "dry"


def test_an_alpha_acid_of_the_harvest_is_marked_so(hop):
    assert _recorded(hop, 0.095, at_harvest=True).at_harvest
