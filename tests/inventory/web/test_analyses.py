"""A certificate is recorded as it is written."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from boxwort.roles import Role
from inventory.models import Analysis, ItemKind, Lot
from tests import make
from tests.inventory.web.conftest import Enter
from tests.visits import read, send, words_of


def hop_lot() -> Lot:
    return make.lot("CASC-1", item=make.item("CASCADE", ItemKind.HOP))


def record(browser: Client, lot: Lot, key: str = "", **fields: Any) -> Any:
    said = {
        "measured": "alpha:%",
        "value": "5.2",
        "sampled_on": "2026-02-20",
        "method": "hplc",
        "basis": "as_is",
        **fields,
    }
    return send(browser, "lot-analysis", lot.pk, key=key, **said)


def test_alpha_acid_is_typed_in_per_cent(enter: Enter) -> None:
    answer = record(enter(Role.DEVELOPER), hop_lot(), spread="2")
    found = Analysis.objects.get()
    assert answer.status_code == 303
    assert (found.kind, found.value, found.spread) == ("alpha", 0.052, 0.02)


@pytest.mark.parametrize(
    ("kind", "measured", "typed", "kept"),
    [
        (ItemKind.GRAIN, "colour:°L", "3.2", 3.2),
        (ItemKind.GRAIN, "moisture:%", "4.1", 0.041),
        (ItemKind.GRAIN, "power:°Lintner", "120", 120.0),
        (ItemKind.YEAST, "cells:billion cells", "205", 2.05e11),
        (ItemKind.GRAIN, "colour:EBC", "7.9", 3.521447),
        (ItemKind.GRAIN, "extract:ppg", "38", 317.1253),
        (ItemKind.SUGAR, "extract:%", "99", 381.81777),
        (ItemKind.GRAIN, "power:°WK", "334", 100.0),
    ],
)
def test_each_thing_is_typed_in_the_units_of_the_trade(
    owner: Client, kind: ItemKind, measured: str, typed: str, kept: float
) -> None:
    lot = make.lot(item=make.item("THING", kind))
    assert record(owner, lot, measured=measured, value=typed).status_code == 303
    assert Analysis.objects.get().value == pytest.approx(kept)


def test_the_lots_page_shows_the_papers_number_beside_that_of_the_books(owner: Client) -> None:
    lot = make.lot()
    record(owner, lot, measured="colour:EBC", value="7.9", method="certificate")
    assert "7.9 EBC, 3.5 °L" in read(owner, "lot-detail", lot.pk)


def test_a_harvest_value_is_offered_for_hops_alone_and_shown_as_one(owner: Client) -> None:
    lot = hop_lot()
    assert "Known from the harvest" in read(owner, "lot-analysis", lot.pk)
    assert "Known from the harvest" not in read(owner, "lot-analysis", make.lot().pk)
    record(owner, lot, at_harvest="on")
    assert Analysis.objects.get().at_harvest
    assert "As is, of the harvest" in read(owner, "lot-detail", lot.pk)


def test_a_storage_index_grades_the_lot_on_its_page(owner: Client) -> None:
    lot = hop_lot()
    record(owner, lot)
    record(owner, lot, measured="storage_index:ratio", value="0.45")
    text = read(owner, "lot-detail", lot.pk)
    assert "this lot is <b>aged</b>" in text
    assert "Lost since harvest" in text


def test_only_what_is_measured_on_such_an_item_is_offered(owner: Client) -> None:
    text = read(owner, "lot-analysis", hop_lot().pk)
    assert "Alpha acid, in %" in text
    assert "Enzyme power" not in text


def test_an_analysis_sent_twice_is_recorded_once(owner: Client) -> None:
    lot = hop_lot()
    record(owner, lot, key="once")
    assert record(owner, lot, key="once").status_code == 303
    assert Analysis.objects.count() == 1


def test_a_wrong_analysis_is_superseded(owner: Client) -> None:
    lot = hop_lot()
    record(owner, lot, value="25")
    wrong = Analysis.objects.get()
    assert record(owner, lot, supersedes=wrong.pk).status_code == 303
    assert "(superseded)" in read(owner, "lot-detail", lot.pk)
    assert f'value="{wrong.pk}"' not in read(owner, "lot-analysis", lot.pk)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"value": "520"}, "more than the whole"),
        ({"value": "-1"}, "greater than or equal to 0"),
        ({"value": ""}, "This field is required"),
        ({"measured": "power:°Lintner"}, "Select a valid choice"),
        ({"sampled_on": "2026-03-03"}, "has not come yet"),
        ({"measured": "storage_index:ratio", "value": "31"}, "storage index of the lot was given"),
        (
            {"measured": "storage_index:ratio", "value": "0.3", "at_harvest": "on"},
            "was marked as known from the harvest",
        ),
        ({"spread": "80"}, "relative standard deviation of 0.8"),
        ({"basis": "dry"}, "whose moisture is not known"),
    ],
)
def test_a_value_that_cannot_be_is_shown_again(
    owner: Client, fields: dict[str, str], words: str
) -> None:
    answer = record(owner, hop_lot(), **fields)
    assert answer.status_code == 422
    assert words in words_of(answer)
    assert not Analysis.objects.exists()


def test_nothing_is_measured_on_a_box(owner: Client) -> None:
    lot = make.lot(item=make.item("BOX", ItemKind.PACKAGING))
    assert "Nothing that counts" in read(owner, "lot-analysis", lot.pk, expect=422)


def test_a_packer_records_no_analysis(enter: Enter) -> None:
    assert record(enter(Role.PACKER), hop_lot()).status_code == 403


def test_a_lot_that_is_not_there_has_no_analysis(owner: Client) -> None:
    read(owner, "lot-analysis", 999_999, expect=404)


def test_an_analysis_is_never_deleted(owner: Client) -> None:
    assert owner.delete(reverse("lot-analysis", args=[hop_lot().pk])).status_code == 405
