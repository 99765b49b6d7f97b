"""Analyses: recorded once, told to other apps, and refused where they cannot be."""

from __future__ import annotations

import pytest

from inventory import events
from inventory.models import Analysis, AnalysisKind, ItemKind
from inventory.services.analyses import record_analysis
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
