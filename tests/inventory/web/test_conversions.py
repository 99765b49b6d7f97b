"""Work on lots is recorded, listed, read and taken back at the pages."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from boxwort.roles import Role
from inventory.models import Conversion, ItemKind, Lot
from tests import make
from tests.inventory.web.conftest import Enter
from tests.inventory.works import blended, broken_down, hop, keeps, milled, on_hand, packed
from tests.visits import read, send, statements, words_of

ON = {"occurred_on": "2026-03-02", "reason": ""}


def _filled(lot: Lot, **changed: Any) -> dict[str, Any]:
    store = make.place().pk
    return {
        "place": store,
        "to_place": store,
        "unit": "g",
        "taken": "1",
        "made": "0.9",
        "left": "0.1",
        "left_code": "",
        "code": "new-1",
        **ON,
        **changed,
    }


@pytest.mark.parametrize(
    ("door", "kind", "more"),
    [
        ("lot-repack", ItemKind.HOP, {"packing": "airtight"}),
        ("lot-repack", ItemKind.GRAIN, {}),
        ("lot-mill", ItemKind.GRAIN, {}),
        ("lot-decant", ItemKind.EXTRACT, {}),
    ],
)
def test_one_lot_becomes_another_as_it_was_written(
    enter: Enter, door: str, kind: ItemKind, more: dict[str, str]
) -> None:
    packer, lot = enter(Role.PACKER), make.lot("BULK-1", 5000, item=make.item("BULK", kind))
    assert "Usually nothing is lost." in read(packer, door, lot.pk)
    answer = send(packer, door, lot.pk, **_filled(lot, **more))
    assert answer.status_code == 303, words_of(answer)
    work = Conversion.objects.get()
    assert answer.headers["Location"] == reverse("conversion-detail", args=[work.pk])
    assert (on_hand("BULK-1"), on_hand("NEW-1")) == (4100, 900)
    page = read(packer, "conversion-detail", work.pk)
    assert "which counts as opened" in page
    assert "Goes on from" in page


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"made": "0.95"}, "0.05 g more than went in"),
        ({"made": "0.8"}, "0.1 g of Bulk was lost, and 0.0 g is expected"),
        ({"taken": "8", "reason": "spilt"}, "Store holds 5.0 g of lot BULK-1"),
        ({"taken": "lots"}, "Write a number of g"),
        ({"code": "BULK-1"}, "already a lot BULK-1"),
        ({"occurred_on": "2026-03-03"}, "has not come yet"),
    ],
)
def test_what_cannot_be_is_shown_again(owner: Client, changed: dict[str, str], words: str) -> None:
    lot = make.lot("BULK-1", 5000, item=make.item("BULK"))
    answer = send(owner, "lot-mill", lot.pk, **_filled(lot, **changed))
    assert answer.status_code == 422
    assert words in words_of(answer)
    assert on_hand("BULK-1") == 5000


def test_work_sent_twice_is_done_once(owner: Client) -> None:
    lot = make.lot("BULK-1", 1000, item=make.item("BULK"))
    for _ in range(2):
        answer = send(owner, "lot-mill", lot.pk, key="once", **_filled(lot, made="1", left=""))
        assert answer.status_code == 303
    assert on_hand("NEW-1") == 1000


def test_lots_are_blended_row_by_row(owner: Client) -> None:
    first, second = make.lot("PALE-1"), make.lot("PALE-2")
    store = make.place().pk
    assert "Taken of lot PALE-2 in Store" in read(owner, "lot-blend", first.pk)
    fields = {
        **{f"take-{lot.pk}-{store}": "1" for lot in (first, second)},
        "unit": "g",
        "made": "2",
        "code": "new-1",
        "to_place": store,
        **ON,
    }
    for _ in range(2):
        answer = send(owner, "lot-blend", first.pk, key="once", **fields)
        assert answer.status_code == 303, words_of(answer)
    assert (on_hand("PALE-1"), on_hand("PALE-2"), on_hand("NEW-1")) == (0, 0, 2000)
    assert "all of them" in read(owner, "conversion-detail", Conversion.objects.get().pk)


def test_a_blend_of_one_is_shown_again(owner: Client) -> None:
    lot, store = make.lot("PALE-1"), make.place().pk
    fields = {f"take-{lot.pk}-{store}": "1", "unit": "g", "made": "1", "code": "NEW-1"}
    answer = send(owner, "lot-blend", lot.pk, to_place=store, **fields, **ON)
    assert answer.status_code == 422
    assert "two lots or more" in words_of(answer)


def _kits() -> Lot:
    return packed((make.lot("PALE-1", 100_000), 50_007), (hop(), 100), kits=10)


def _back(lot: Lot, browser: Client, number: int | str, **changed: Any) -> Any:
    store = make.place().pk
    malt, hops = (Lot.objects.get(code=code).pk for code in ("PALE-1", "FUG-1"))
    fields = {
        f"good-{malt}": "20.0",
        f"code-{malt}": "malt-b",
        f"place-{malt}": store,
        f"good-{hops}": "0.0",
        f"code-{hops}": "HOPS-B",
        f"place-{hops}": store,
        "kits": number,
        "place": store,
        **ON,
        **changed,
    }
    return send(browser, "lot-break-down", lot.pk, **fields)


def test_kits_are_broken_down_to_the_last_unit_where_nothing_was_changed(owner: Client) -> None:
    kits = _kits()
    assert "Show what is in them" in read(owner, "lot-break-down", kits.pk)
    assert "Good of Pale, lot PALE-1" in read(owner, "lot-break-down", kits.pk, kits=4)
    answer = _back(kits, owner, 4)
    assert answer.status_code == 303, words_of(answer)
    assert (on_hand("KITS-1"), on_hand("MALT-B"), on_hand("HOPS-B")) == (6, 20_002, 40)


def test_grains_of_one_bag_do_not_come_back_unless_somebody_says_so(owner: Client) -> None:
    wheat = make.lot("WHEAT-1", 100_000, item=make.item("WHEAT"))
    kits = packed((make.lot("PALE-1", 100_000), 50_000), (wheat, 30_000), (hop(), 100), kits=10)
    more = {
        f"good-{wheat.pk}": "0",
        f"code-{wheat.pk}": "W-B",
        f"place-{wheat.pk}": make.place().pk,
    }
    malt = Lot.objects.get(code="PALE-1").pk
    page = read(owner, "lot-break-down", kits.pk, kits=4)
    assert page.count('value="0"') == 2
    answer = _back(kits, owner, 4, **more, **{f"good-{malt}": "0"}, reason="one bag")
    assert answer.status_code == 303, words_of(answer)
    assert (on_hand("W-B"), on_hand("MALT-B"), on_hand("HOPS-B")) == (0, 0, 40)


def test_what_is_lost_of_kits_asks_for_a_reason(owner: Client) -> None:
    kits = _kits()
    malt = Lot.objects.get(code="PALE-1").pk
    answer = _back(kits, owner, 4, **{f"good-{malt}": "19"})
    assert answer.status_code == 422
    assert "Say in a few words where the rest went" in words_of(answer)
    assert _back(kits, owner, 4, **{f"good-{malt}": "19"}, reason="torn").status_code == 303
    page = read(owner, "conversion-detail", Conversion.objects.latest("pk").pk)
    assert "1.0 g more" in page


@pytest.mark.parametrize("number", ["0", "x", ""])
def test_a_number_of_kits_is_asked_again(owner: Client, number: str) -> None:
    assert _back(_kits(), owner, number).status_code == 422


def test_more_kits_than_are_on_hand_are_asked_for_again(owner: Client) -> None:
    page = read(owner, "lot-break-down", _kits().pk, kits=11, expect=422)
    assert "10 of them are on hand. Write that many or fewer." in page
    assert "Good of" not in page


def test_a_breaking_down_of_many_lots_keeps_the_list_short(owner: Client) -> None:
    kits = packed(*((make.lot(f"PALE-{number}"), 10) for number in range(5)), kits=10)
    work = broken_down(kits, 10)
    assert "and 2 more" in read(owner, "conversion-list")
    assert "5 lots" in read(owner, "lot-detail", kits.pk)
    assert "PALE-4-B10" in read(owner, "conversion-detail", work.pk)


def test_how_hops_are_packed_is_never_taken_for_granted(owner: Client) -> None:
    assert "Choose how it is packed now" in read(owner, "lot-repack", hop().pk)


def test_kits_that_were_not_packed_here_are_not_broken_down(owner: Client) -> None:
    bought = make.lot("BOX-1", 10, item=make.item("KIT-PALE", ItemKind.KIT))
    assert "was not packed here" in read(owner, "lot-break-down", bought.pk, expect=422)


@pytest.mark.parametrize("door", ["lot-mill", "lot-decant"])
def test_work_that_does_not_fit_a_lot_has_no_form(owner: Client, door: str) -> None:
    assert "does not fit lot FUG-1" in read(owner, door, hop().pk, expect=422)


def test_what_is_used_up_has_no_form(owner: Client) -> None:
    lot = make.lot("PALE-1", 100)
    milled(lot, 100, 100)
    assert "Nothing of lot PALE-1 is on hand" in read(owner, "lot-repack", lot.pk, expect=422)


def test_pieces_have_no_blend(owner: Client) -> None:
    kits = make.lot("BOX-1", 10, item=make.item("KIT-PALE", ItemKind.KIT))
    assert "cannot be blended" in read(owner, "lot-blend", kits.pk, expect=422)


def test_the_page_of_a_lot_offers_what_fits_and_says_where_it_comes_from(owner: Client) -> None:
    lot = make.lot("PALE-1", item=keeps(make.item(), crushed_days=30))
    page = read(owner, "lot-detail", lot.pk)
    for door, offered in (("lot-mill", True), ("lot-blend", True), ("lot-decant", False)):
        assert (reverse(door, args=[lot.pk]) in page) is offered
    work = milled(lot, 100, 100)
    made = Lot.objects.get(code="NEW-1")
    page = read(owner, "lot-detail", made.pk)
    assert reverse("conversion-detail", args=[work.pk]) in page
    assert "Goes on from lot" in page
    assert "Crushed" in page
    assert reverse("lot-mill", args=[made.pk]) not in page


def test_the_list_finds_work_by_kind_state_and_lot(owner: Client) -> None:
    assert "No lot has been worked on yet" in read(owner, "conversion-list")
    mill = milled(make.lot("PALE-1"), 100, 100)
    blend = blended((make.lot("PALE-2"), 10), (make.lot("PALE-3"), 10), gave=20, code="NEW-2")
    for query, seen in (
        ({"kind": "mill"}, {mill}),
        ({"text": "PALE-3"}, {blend}),
        ({"text": "MILL"}, {mill}),
        ({"state": "done"}, {mill, blend}),
        ({"state": "cancelled"}, set()),
    ):
        page = read(owner, "conversion-list", **query)
        assert {work for work in (mill, blend) if work.code in page} == seen
    assert "No work fits" in read(owner, "conversion-list", text="nothing")
    read(owner, "conversion-list", kind="smelt", expect=422)


@pytest.mark.parametrize("count", [3, 12])
def test_the_list_costs_the_same_however_long(owner: Client, count: int) -> None:
    for number in range(count):
        milled(make.lot(f"PALE-{number}"), 100, 100, code=f"NEW-{number}")
    assert statements(owner, "conversion-list") == 6


def test_a_lot_to_work_on_is_chosen_from_those_that_fit(owner: Client) -> None:
    kits, lot = _kits(), make.lot("PALE-2")
    assert "Repack" in read(owner, "conversion-new")
    page = read(owner, "conversion-new", kind="break_down")
    assert "KITS-1" in page
    assert "PALE-2" not in page
    answer = owner.get(reverse("conversion-new"), {"kind": "mill", "lot": lot.pk})
    assert answer.headers["Location"] == reverse("lot-mill", args=[lot.pk])
    wrong = read(owner, "conversion-new", kind="mill", lot=kits.pk)
    assert "Choose a lot" in wrong
    read(owner, "conversion-new", kind="smelt", expect=404)
    assert "No lot on hand fits" in read(owner, "conversion-new", kind="decant")


def test_work_is_taken_back_with_a_reason(enter: Enter) -> None:
    planner = enter(Role.PLANNER)
    work = broken_down(_kits(), 4)
    assert "its lots are rejected" in read(planner, "conversion-undo", work.pk)
    assert send(planner, "conversion-undo", work.pk, reason="").status_code == 422
    answer = send(planner, "conversion-undo", work.pk, reason="wrong kits")
    assert answer.status_code == 303
    page = read(planner, "conversion-detail", work.pk)
    assert "Taken back: wrong kits" in page
    assert reverse("conversion-undo", args=[work.pk]) not in page
    again = send(planner, "conversion-undo", work.pk, reason="wrong kits")
    assert again.status_code == 422
    assert "was reversed before" in words_of(again)


def test_packing_is_no_work_of_this_list(owner: Client) -> None:
    kits = _kits()
    read(owner, "conversion-detail", kits.made_by_id, expect=404)


@pytest.mark.parametrize(
    ("door", "role"),
    [("lot-repack", Role.DEVELOPER), ("lot-mill", Role.VIEWER), ("conversion-undo", Role.PACKER)],
)
def test_the_wrong_role_does_no_work(enter: Enter, door: str, role: Role) -> None:
    work = milled(make.lot("PALE-1"), 100, 100)
    thing = work.pk if door == "conversion-undo" else work.outputs.get().pk
    assert send(enter(role), door, thing, reason="no").status_code == 403
