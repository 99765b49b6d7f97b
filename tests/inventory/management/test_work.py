"""Work on lots at the terminal."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from boxwort.roles import Role
from inventory.models import Conversion, Lot
from tests import make
from tests.inventory.works import hop, on_hand, packed

pytestmark = pytest.mark.django_db


def _work(capsys: pytest.CaptureFixture[str], *words: str, **more: Any) -> str:
    call_command("work", *words, **more)
    return capsys.readouterr().out


def _refused(*words: str) -> str:
    with pytest.raises(CommandError) as caught:
        call_command("work", *words)
    return str(caught.value)


def test_grain_is_milled_and_what_was_posted_is_printed(capsys):
    make.lot("PALE-1", 5_000_000)
    told = _work(
        capsys,
        *("mill", "PALE-1", "--take", "2 kg", "--made", "1.9 kg", "--code", "new-1"),
        *("--reason", "dust"),
    )
    assert "Mill MILL-" in told
    assert "took  PALE-1  Pale  2.000 kg  Store" in told
    assert "made  NEW-1   Pale  1.900 kg  Store" in told
    assert "100.0 g" in told
    assert (on_hand("PALE-1"), on_hand("NEW-1")) == (3_000_000, 1_900_000)


def test_hops_are_repacked_with_what_is_left_as_a_lot_of_its_own(capsys):
    hop("FUG-1", 1_000_000)
    make.place("COLD")
    _work(
        capsys,
        *("repack", "FUG-1", "--take", "500 g", "--made", "300 g", "--left", "200 g"),
        *("--left-code", "rest-1", "--packing", "barrier", "--code", "NEW-1", "--to", "cold"),
    )
    assert (on_hand("FUG-1"), on_hand("NEW-1"), on_hand("REST-1")) == (500_000, 300_000, 200_000)
    assert Lot.objects.get(code="NEW-1").balances.get(holds_stock=True).place.code == "COLD"


def test_lots_are_blended_into_a_lot_named_for_its_item_and_day(capsys):
    make.lot("PALE-1")
    make.lot("PALE-2")
    _work(capsys, "blend", "PALE-1=1 g", "pale-2=500 mg", "--made", "1.5 g")
    blend = Lot.objects.get(made_by__kind="blend")
    assert blend.code.startswith("PALE-")
    assert on_hand(blend.code) == 1500


def test_kits_are_broken_down_and_what_is_not_named_is_all_good(capsys):
    packed((make.lot("PALE-1"), 500), (hop("FUG-1"), 100), kits=10)
    told = _work(
        capsys,
        *("break-down", "KITS-1", "--kits", "4", "--good", "FUG-1=30 mg", "--reason", "torn"),
    )
    assert "usually lost" in told
    back = {lot.from_lot.code: on_hand(lot.code) for lot in Lot.objects.exclude(from_lot=None)}
    assert back == {"PALE-1": 200, "FUG-1": 30}


def test_work_is_taken_back(capsys):
    make.lot("PALE-1")
    _work(capsys, "mill", "PALE-1", "--take", "1 g", "--made", "1 g")
    code = Conversion.objects.get().code
    assert "taken back" in _work(capsys, "undo", code, "--reason", "wrong lot")
    assert on_hand("PALE-1") == 1000


def test_what_is_refused_says_what_to_do():
    make.lot("PALE-1")
    mill = ("mill", "PALE-1", "--made", "1 g", "--take")
    for words, said in (
        ((*mill, "1"), "names no unit; write it as 1 g"),
        ((*mill, "1 L"), "This is kept by mass"),
        ((*mill, "some g"), "Write a number of g"),
        ((*mill, "900 mg"), "more than went in"),
        ((*mill, "1.5 g"), "Say in a few words where the rest went"),
        ((*mill, "1 g", "--to", "MOON"), "No storage place has the code MOON. There are: STORE."),
        (("mill", "NONE-1", "--made", "1 g", "--take", "1 g"), "No lot has the code NONE-1"),
        (("undo", "MILL-1", "--reason", "no"), "No work has the code MILL-1"),
        (("break-down", "PALE-1", "--kits", "1"), "was not packed here"),
    ):
        assert said in _refused(*words)
    assert on_hand("PALE-1") == 1000


def test_good_names_a_lot_of_the_kits():
    packed((make.lot("PALE-1"), 500), kits=10)
    make.lot("PALE-2")
    assert "they hold PALE-1" in _refused(
        "break-down", "KITS-1", "--kits", "1", "--good", "PALE-2=1 mg"
    )


def test_a_person_works_by_the_same_rights_as_on_the_site(capsys):
    make.lot("PALE-1")
    make.user(Role.VIEWER, "vera")
    make.user(Role.PACKER, "pia")
    mill = ("mill", "PALE-1", "--take", "1 g", "--made", "1 g", "--as")
    assert "does not hold the right “work on lot”" in _refused(*mill, "vera")
    assert "does not hold" in _refused("undo", "X", "--reason", "no", "--as", "pia")
    _work(capsys, *mill, "pia")
    assert Conversion.objects.get().postings.get().by.username == "pia"
