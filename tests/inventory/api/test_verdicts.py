"""Analyses and verdicts over the API."""

from __future__ import annotations

from typing import Any

import pytest

from boxwort.roles import Role
from inventory.models import Analysis, ItemKind, Lot, LotStatus
from tests.calling import Program, done_once, pointers, problem
from tests.make import item, lot

ANALYSIS = {"kind": "alpha", "sampled_on": "2026-02-20", "value": 0.0525, "method": "hplc"}
VERDICTS = [
    ("api-lot-release", LotStatus.QUARANTINE, LotStatus.RELEASED),
    ("api-lot-hold", LotStatus.RELEASED, LotStatus.ON_HOLD),
    ("api-lot-reject", LotStatus.ON_HOLD, LotStatus.REJECTED),
]


@pytest.fixture
def hop_lot(db: None) -> Lot:
    return lot("H-1", item=item("CASK", ItemKind.HOP))


def test_an_analysis_is_recorded_and_stays_with_the_lot(owner: Program, hop_lot: Lot) -> None:
    made = done_once(owner, "api-lot-analysis", hop_lot.pk, body=ANALYSIS)
    assert (made["value"], made["unit"], made["superseded"]) == (0.0525, "share", False)
    assert owner.read("api-lot-detail", hop_lot.pk)["analyses"] == [made]


def test_a_wrong_analysis_is_superseded(owner: Program, hop_lot: Lot) -> None:
    wrong = owner.does("api-lot-analysis", hop_lot.pk, body=ANALYSIS)
    right = {**ANALYSIS, "value": 0.06, "supersedes": wrong["id"]}
    owner.does("api-lot-analysis", hop_lot.pk, body=right)
    read = owner.read("api-lot-detail", hop_lot.pk)["analyses"]
    assert {row["value"]: row["superseded"] for row in read} == {0.0525: True, 0.06: False}


def test_an_analysis_is_given_as_the_certificate_has_it(owner: Program) -> None:
    malt = lot("M-1")
    body = {"kind": "colour", "sampled_on": "2026-02-20", "given_value": "7.9", "given_unit": "EBC"}
    made = done_once(owner, "api-lot-analysis", malt.pk, body=body)
    assert (made["value"], made["unit"]) == (pytest.approx(3.5214, abs=1e-4), "degrees L")
    assert (made["given_value"], made["given_unit"]) == (7.9, "EBC")


def test_an_alpha_acid_of_the_harvest_stays_marked(owner: Program, hop_lot: Lot) -> None:
    made = owner.does("api-lot-analysis", hop_lot.pk, body=ANALYSIS | {"at_harvest": True})
    assert made["at_harvest"]


@pytest.mark.parametrize(
    "given",
    [
        {"given_value": "5.2", "given_unit": "%"},  # beside the value
        {"value": None, "given_value": "5.2"},
        {"value": None, "given_unit": "%"},
        {"value": None},
    ],
)
def test_a_value_is_given_in_one_way(owner: Program, hop_lot: Lot, given: dict[str, Any]) -> None:
    body = {name: said for name, said in (ANALYSIS | given).items() if said is not None}
    problem(owner.post("api-lot-analysis", hop_lot.pk, body=body), 400, "fields-refused")
    assert not Analysis.objects.exists()


def test_a_unit_that_a_kind_is_not_measured_in_is_refused(owner: Program, hop_lot: Lot) -> None:
    body = {"kind": "alpha", "sampled_on": "2026-02-20", "given_value": "5", "given_unit": "EBC"}
    problem(owner.post("api-lot-analysis", hop_lot.pk, body=body), 422, "unit-does-not-fit")


@pytest.mark.parametrize(
    ("wrong", "where"),
    [
        ({"kind": "taste"}, "#/kind"),
        ({"value": "high"}, "#/value"),
        ({"sampled_on": "2026-03-03"}, "#/sampled_on"),
        ({"supersedes": 999}, "#/supersedes"),
    ],
)
def test_an_analysis_that_cannot_be_read_is_pointed_at(
    owner: Program, hop_lot: Lot, wrong: dict[str, Any], where: str
) -> None:
    assert pointers(owner.post("api-lot-analysis", hop_lot.pk, body=ANALYSIS | wrong)) == {where}
    assert not Analysis.objects.exists()


@pytest.mark.parametrize(
    ("value", "code"), [(5.25, "value-not-a-share"), (-0.1, "value-not-possible")]
)
def test_an_impossible_value_is_refused_by_the_stock_room(
    owner: Program, hop_lot: Lot, value: float, code: str
) -> None:
    answer = owner.post("api-lot-analysis", hop_lot.pk, body=ANALYSIS | {"value": value})
    problem(answer, 422, code)


@pytest.mark.parametrize(("name", "before", "after"), VERDICTS)
def test_a_verdict_changes_the_status_once(
    owner: Program, hop_lot: Lot, name: str, before: LotStatus, after: LotStatus
) -> None:
    Lot.objects.update(status=before)
    body = {"version": 1, "reason": "certificate read"}
    read = done_once(owner, name, hop_lot.pk, body=body)
    assert (read["status"], read["status_reason"], read["version"]) == (
        after,
        "certificate read",
        2,
    )


@pytest.mark.parametrize(("name", "before", "after"), VERDICTS)
def test_a_verdict_on_a_lot_that_changed_meanwhile_is_a_conflict(
    owner: Program, hop_lot: Lot, name: str, before: LotStatus, after: LotStatus
) -> None:
    Lot.objects.update(status=before, version=3)
    answer = owner.post(name, hop_lot.pk, body={"version": 1})
    problem(answer, 409, "changed-by-someone-else")


@pytest.mark.parametrize(
    ("name", "body"),
    [("api-lot-analysis", ANALYSIS), *((name, {"version": 1}) for name, _, _ in VERDICTS)],
)
def test_what_is_said_of_lots_asks_its_questions(
    owner: Program, hop_lot: Lot, name: str, body: dict[str, Any]
) -> None:
    problem(Program(Role.PACKER).post(name, hop_lot.pk, body=body), 403, "forbidden")
    problem(owner.post(name, 999, body=body), 404, "not-found")
    problem(owner.post(name, hop_lot.pk, body=body, key=""), 400, "request-key-missing")
    assert pointers(owner.post(name, hop_lot.pk, body={})) <= {
        "#/version",
        "#/kind",
        "#/sampled_on",
        "#/value",
    }
    problem(owner.get(name, hop_lot.pk), 405, "method-not-allowed")
