"""The demonstration runs from an empty folder to a verified ledger, and doubles nothing."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import openpyxl
import pypdf
import pytest

from tests.sites import TREE, environment

pytestmark = pytest.mark.xdist_group("demo")  # one demonstration for all
COUNTS = """
from inventory.models import Analysis, Conversion, Item, Lot, Posting
from planning.models import Batch, CustomerOrder, Forecast, Proposal, Run
from recipes.models import Kit, Recipe, Substitute, TrialBatch
models = (Item, Lot, Analysis, Conversion, Posting, Recipe, Substitute, TrialBatch, Kit)
models += (Forecast, CustomerOrder, Run, Batch, Proposal)
print({model.__name__: model.objects.count() for model in models})
"""


def manage(data: Path, *words: str) -> str:
    done = subprocess.run(
        [sys.executable, "manage.py", *words],
        cwd=TREE,
        env=environment(data),
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    data = tmp_path_factory.mktemp("demo")
    return data, manage(data, "demo", "--no-serve", "--out", str(data / "papers"))


def test_the_demonstration_proposes_accepts_packs_and_verifies(told: tuple[Path, str]):
    _data, words = told
    assert "MAG-26-01 was tested again" in words
    assert words.count("Accepted.") == 2
    assert words.count("new alpha acid analysis of lot MTH-26-01. Open.") == 1
    assert re.search(r"MTH-26-01 +MTH-26-01 +22.0 g, 44 min +22.0 g, 50 min", words)
    assert "24 of 24 kits of Lantern Hill American IPA" in words
    assert "Everything agrees with the moves." in words


def test_lots_are_worked_on_and_trial_brews_are_measured(told: tuple[Path, str]):
    _data, words = told
    for kind in ("MILL", "REPACK", "DECANT", "BLEND"):
        assert len(re.findall(rf"^{kind}-\d{{6}}-1 ", words, re.MULTILINE)) == 1
    measured = re.findall(r"^(BROWN-T\d) .* Original gravity +(\S+) +(\S+) ", words, re.MULTILINE)
    assert measured == [("BROWN-T2", "1.047", "1.045"), ("BROWN-T1", "1.047", "1.044")]


def test_the_papers_it_writes_can_be_opened(told: tuple[Path, str]):
    papers = told[0] / "papers"
    book = openpyxl.load_workbook(papers / "purchase-list.xlsx")
    assert len(book.sheetnames) > 5
    (weigh_sheet,) = papers.glob("weigh-sheet-*-01.pdf")
    text = pypdf.PdfReader(weigh_sheet).pages[0].extract_text().replace("\xa0", " ")
    assert "33.5 g" in text
    assert "MAG-26-01" in text
    assert len(list(papers.glob("instructions-*.pdf"))) == 2


def test_a_second_run_doubles_nothing(told: tuple[Path, str]):
    data, _words = told
    before = manage(data, "shell", "-v", "0", "-c", COUNTS)
    again = manage(data, "demo", "--no-serve", "--out", str(data / "papers"))
    assert "24 of 24 kits" in again
    assert re.search(r"^Lots +0 +0 +100$", again, re.MULTILINE)
    assert manage(data, "shell", "-v", "0", "-c", COUNTS) == before
    assert "agrees with the moves" in manage(data, "verify_stock")
