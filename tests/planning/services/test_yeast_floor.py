"""Packed yeast below a kit's floor on pitch day is not reserved; below target the sheet advises."""

from __future__ import annotations

import io

import pytest
from pypdf import PdfReader

from boxwort.accounts.models import SiteSettings
from boxwort.errors import Refusal
from planning.documents.papers import instruction_sheet_pdf
from planning.models import Batch
from recipes.models import Kit, Part
from tests.planning.make import TODAY, store
from tests.recipes.make import offered, offered_kit, pale_ale

pytestmark = pytest.mark.django_db


@pytest.fixture
def made():
    made = store()
    revision = offered(pale_ale(made.goods, "WITH-YEAST"))
    made.kit = offered_kit(revision, "KIT-YEAST", made.goods, yeast_part=Part.PACKED, shelf_days=30)
    made.lot(made.goods.ale_yeast, 40, packaged_on=TODAY, received_on=TODAY)
    return made


def sheet():
    return Batch.objects.get().sheets.get().content


def test_a_way_too_long_for_the_yeast_is_refused(made):
    SiteSettings.objects.update(transit_days=25, transit_temperature_c=30.0)
    with pytest.raises(Refusal):
        made.reserved()


def test_the_kits_own_floor_decides(made):
    Kit.objects.filter(pk=made.kit.pk).update(target_share=1.0, floor_share=0.9)
    with pytest.raises(Refusal):
        made.reserved()
    Kit.objects.filter(pk=made.kit.pk).update(target_share=1.0, floor_share=0.6)
    made.reserved()


def test_below_target_the_brewer_is_told_of_a_starter_or_a_second_pack(made):
    made.reserved()
    yeast = sheet()["yeast"]
    lived = 1 - 0.007 * (7 + 3 * 2**1.6 + 27 * 2**0.1)
    option = made.kit.bill.get(item=made.goods.ale_yeast)
    assert yeast["pitched"] == pytest.approx(2 * lived / option.exact)
    assert yeast["starter_l"] == 1.5
    said = words(sheet())
    assert "gives about 71 % of the pitch we aim at" in said
    assert "in 1.5 L of wort of 1.036 to 1.040, boiled and cooled (boiling wort scalds)" in said


def test_at_target_nothing_is_advised(made):
    Kit.objects.filter(pk=made.kit.pk).update(target_share=0.6, floor_share=0.5)
    made.reserved()
    assert sheet()["yeast"]["starter_l"] is None
    assert "of the pitch" not in words(sheet())


def test_the_brewer_reads_until_when_the_box_is_good(made):
    made.reserved()
    assert "floor pitch" in sheet()["best_before"]["set_by"]
    assert "Best before " in words(sheet())


def words(content):
    pages = PdfReader(io.BytesIO(instruction_sheet_pdf(content))).pages
    text = " ".join(page.extract_text() for page in pages)
    return " ".join(text.replace("\N{NO-BREAK SPACE}", " ").split())
