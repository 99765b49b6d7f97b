"""The list of lots, and the page of one."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import AnalysisKind, ItemKind, LotStatus
from inventory.services.analyses import record_analysis
from inventory.services.catalogue import YeastFacts
from inventory.services.lots import count_lot, move_lot
from tests import make
from tests.visits import read, send, statements

NOBODYS = 999_999


def test_lots_on_hand_are_listed_with_the_days_they_have_left(viewer: Client) -> None:
    make.lot("PALE-1", 12_500_000, best_before_on=make.TODAY + timedelta(days=40))
    text = read(viewer, "lot-list")
    assert "PALE-1" in text
    assert "12.500 kg" in text
    assert "in 40 days" in text


def test_a_lot_past_its_date_says_expired(viewer: Client) -> None:
    make.lot("OLD-1", best_before_on=make.TODAY - timedelta(days=1))
    assert "Expired" in read(viewer, "lot-list")


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ({}, {"PALE-1", "CASC-1"}),
        ({"text": "casc"}, {"CASC-1"}),
        ({"kind": "grain"}, {"PALE-1"}),
        ({"status": "quarantine"}, {"CASC-1"}),
        ({"stock": "all"}, {"PALE-1", "CASC-1", "GONE-1"}),
    ],
)
def test_the_list_is_narrowed_by_what_is_looked_for(
    viewer: Client, query: dict[str, str], found: set[str]
) -> None:
    make.lot("PALE-1")
    cascade = make.item("CASCADE", ItemKind.HOP)
    make.lot("CASC-1", item=cascade, status=LotStatus.QUARANTINE)
    used_up = make.lot("GONE-1")
    count_lot(
        by=make.user(),
        lot=used_up,
        place=make.place(),
        counted=0,
        occurred_on=make.TODAY,
        key=make.key(),
        reason="none left",
    )
    text = read(viewer, "lot-list", **query)
    assert {code for code in ("PALE-1", "CASC-1", "GONE-1") if f">{code}<" in text} == found


def test_an_empty_store_says_what_to_do(viewer: Client, owner: Client) -> None:
    assert "once it is received" in read(viewer, "lot-list")
    assert "Receive the first lot" in read(owner, "lot-list")
    assert "No lot fits this search" in read(owner, "lot-list", text="nothing")


def test_a_kind_nobody_packs_cannot_be_looked_for(viewer: Client) -> None:
    read(viewer, "lot-list", expect=422, kind="tin")


def test_the_list_is_not_a_form(owner: Client) -> None:
    assert send(owner, "lot-list").status_code == 405


def test_a_lot_shows_its_stock_and_the_work_that_holds_it(viewer: Client) -> None:
    lot = make.lot("PALE-1", 5_000_000)
    make.reservation(make.conversion("RUN-7-01"), lot, 2_000_000)
    text = read(viewer, "lot-detail", lot.pk)
    assert "RUN-7-01" in text
    assert "2.000 kg" in text
    assert "3.000 kg" in text
    assert reverse("lot-runs", args=[lot.pk]) in text


def test_the_moves_of_a_lot_run_on_to_what_is_on_hand(viewer: Client) -> None:
    lot, cold = make.lot("PALE-1", 5_000_000), make.place("COLD")
    facts = {"by": make.user(), "lot": lot, "occurred_on": make.TODAY}
    count_lot(**facts, place=make.place(), counted=4_900_000, key=make.key(), reason="spilt")
    move_lot(**facts, quantity=1_000_000, from_place=make.place(), to_place=cold, key=make.key())
    text = read(viewer, "lot-detail", lot.pk)
    assert "\N{MINUS SIGN}100.0 g" in text
    assert text.count("4.900 kg") == 4  # on hand, available, and after each of the last two moves
    assert "spilt" in text


def test_a_hop_lot_shows_its_alpha_acid_today_with_the_working(viewer: Client) -> None:
    lot = make.lot("CASC-1", item=make.item("CASCADE", ItemKind.HOP))
    record_analysis(
        by=make.user(), lot=lot, kind=AnalysisKind.ALPHA, sampled_on=make.TODAY, value=0.0525
    )
    text = read(viewer, "lot-detail", lot.pk)
    assert text.count("5.25 %") == 3  # the analysis, and today with its working
    assert "Sampled on 2 Mar 2026." in text
    assert "in 90 days" in text


@pytest.mark.parametrize(
    ("facts", "word", "cautioned"), [(make.LIQUID, "Viable", True), (make.DRY, "Active", False)]
)
def test_a_yeast_lot_shows_the_life_left_in_it(
    viewer: Client, facts: YeastFacts, word: str, cautioned: bool
) -> None:
    yeast = make.item("ALE", ItemKind.YEAST, yeast=facts)
    lot = make.lot("ALE-1", 10, item=yeast, packaged_on=date(2026, 1, 1))
    text = read(viewer, "lot-detail", lot.pk)
    assert word in text
    assert ("never left the refrigerator" in text) == cautioned


def test_only_what_a_role_may_do_is_offered(viewer: Client, owner: Client) -> None:
    lot = make.lot(status=LotStatus.QUARANTINE)
    doors = [reverse(f"lot-{act}", args=[lot.pk]) for act in ("release", "move", "count", "scrap")]
    for_viewer, for_owner = (read(who, "lot-detail", lot.pk) for who in (viewer, owner))
    assert [door for door in doors if door in for_viewer] == []
    assert [door for door in doors if door in for_owner] == doors


def test_a_lot_is_found_by_its_code(viewer: Client) -> None:
    lot = make.lot("PALE-1")
    answer = viewer.get(reverse("lot-named", args=["PALE-1"]))
    assert answer.headers["Location"] == reverse("lot-detail", args=[lot.pk])
    read(viewer, "lot-named", "PALE-9", expect=404)


def test_a_lot_that_is_not_there_is_not_found(viewer: Client) -> None:
    read(viewer, "lot-detail", NOBODYS, expect=404)


def test_the_page_of_a_lot_is_not_a_form(owner: Client) -> None:
    assert send(owner, "lot-detail", make.lot().pk).status_code == 405


def test_thirty_lots_are_listed_in_as_many_statements_as_three(viewer: Client) -> None:
    read(viewer, "lot-list")
    for _ in range(3):
        make.lot()
    three = statements(viewer, "lot-list")
    for _ in range(27):
        make.lot()
    assert statements(viewer, "lot-list") == three


def test_a_busy_lot_is_shown_in_as_many_statements_as_a_quiet_one(viewer: Client) -> None:
    lot = make.lot("CASC-1", 1_000_000, item=make.item("CASCADE", ItemKind.HOP))

    def work(times: int) -> int:
        for number in range(times):
            counted = 1_000_000 - (lot.moves.count() + 1) * 100
            count_lot(
                by=make.user(),
                lot=lot,
                place=make.place(),
                counted=counted,
                occurred_on=make.TODAY,
                key=make.key(),
                reason="count",
            )
            record_analysis(
                by=make.user(),
                lot=lot,
                kind=AnalysisKind.ALPHA,
                sampled_on=make.TODAY - timedelta(days=number),
                value=0.05,
            )
            make.reservation(make.conversion(), lot, 100)
        return statements(viewer, "lot-detail", lot.pk)

    three = work(3)
    assert work(27) == three
