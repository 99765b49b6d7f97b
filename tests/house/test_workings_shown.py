"""Every computed figure that people and programs are shown opens its working, on paper too."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator, Mapping
from datetime import timedelta
from io import BytesIO
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from boxwort.accounts.models import User
from boxwort.figures import NO_BREAK, legible
from boxwort.papers.workings import working_rows
from boxwort.roles import Role
from boxwort.working import Working
from inventory.models import AnalysisKind, Lot
from inventory.queries.hops import hop_alphas, hop_lives
from inventory.queries.lots import lot_row
from inventory.queries.outlooks import outlook_of
from inventory.queries.yeasts import yeast_lives
from inventory.services.analyses import record_analysis
from planning.models import Batch, Proposal
from planning.queries.batch_figures import batch_figures
from planning.queries.batch_workings import batch_workings
from planning.queries.lot_effects import lot_effects
from planning.queries.previews import run_preview
from planning.queries.proposals import proposal_rows
from planning.queries.supply import house
from planning.queries.yeast import yeast_rows
from recipes.brewing.roles import MethodKind, Use
from recipes.models import Part
from recipes.queries.brew_day import kit_brew_day
from recipes.queries.kits import kit_detail
from recipes.queries.recipes import recipe_detail
from tests.calling import Program
from tests.house.workings import faults, workings_in
from tests.planning.make import PACK_ON, TODAY, Store, do_jobs, open_proposals, store
from tests.recipes.make import (
    draft,
    hop_line,
    line,
    method_facts,
    offered,
    offered_kit,
    pale_hops,
    write_extract,
    write_method,
    write_yeasts,
)

pytestmark = pytest.mark.django_db
KIT = "KIT-FULL"


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_, **__: TODAY)


@pytest.fixture
def full() -> Store:
    """Return a store with an all-grain kit that has a mash, a stand, priming and packed yeast."""
    made = store()
    goods = made.goods
    revision = draft("FULL", "Full Ale")
    write_yeasts(by=made.by, revision=revision, items=[goods.ale_yeast, goods.dry_ale_yeast])
    stand = {"stand_minutes": 20, "stand_from_c": 95.0, "stand_to_c": 80.0}
    write_extract(revision, goods, carbonation_volumes=2.4)
    write_method(
        by=made.by,
        revision=revision,
        facts=method_facts(
            MethodKind.ALL_GRAIN,
            mash_temperature_c=66.0,
            mash_l_per_kg=2.7,
            carbonation_volumes=2.4,
            **stand,
        ),
        lines=[
            line(goods.pale_malt, Use.MASH, 4400),
            line(goods.crystal, Use.MASH, 210),
            *pale_hops(goods, 20.9),
            hop_line(goods.aroma, Use.FIRST_WORT, 10),
            hop_line(goods.aroma, Use.WHIRLPOOL, 25),
        ],
    )
    offered(revision)
    made.kit = offered_kit(
        revision,
        KIT,
        goods,
        kind=MethodKind.ALL_GRAIN,
        yeast_part=Part.PACKED,
        shelf_days=10,
    )
    malt = made.lot(goods.pale_malt, 100_000_000, code="PALE-A")
    record_analysis(by=made.by, lot=malt, kind=AnalysisKind.EXTRACT, sampled_on=TODAY, value=291.0)
    fresh = {"packaged_on": TODAY - timedelta(days=9), "received_on": TODAY - timedelta(days=5)}
    made.lot(goods.ale_yeast, 200, code="ALE-A", **fresh)
    return made


@pytest.fixture
def batch(full: Store) -> Batch:
    full.reserved(10)
    return Batch.objects.select_related("run_line__run").get(run_line__kit=full.kit)


@pytest.fixture
def proposal(full: Store, batch: Batch) -> Proposal:
    full.analysed(Lot.objects.get(code="BITTER-A"), 0.07)
    do_jobs()
    (made,) = open_proposals()
    return made


@pytest.fixture
def reader(db: None) -> Client:
    client = Client()
    client.force_login(User.objects.create(username="reader", role=Role.VIEWER.value))
    return client


def words(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).replace(NO_BREAK, " ").split())


def read(browser: Client, name: str, *ids: object) -> str:
    answer = browser.get(reverse(name, args=ids), headers={"HX-Request": "true"})
    assert answer.status_code == 200, answer.content[:500]
    return words(answer.content.decode())


def printed(browser: Client, name: str, *ids: object) -> str:
    answer = browser.get(reverse(name, args=ids))
    assert answer.headers["Content-Type"] == "application/pdf"
    pages = PdfReader(BytesIO(answer.content)).pages
    text = " ".join(page.extract_text() for page in pages)
    return " ".join(text.replace(NO_BREAK, " ").split())


def told(answer: Any) -> Iterator[Working]:
    """Yield every figure in an answer of the API."""
    if isinstance(answer, Mapping):
        if "formula" in answer:
            yield Working.from_json(answer)
        else:
            for inner in answer.values():
                yield from told(inner)
    elif isinstance(answer, list):
        for inner in answer:
            yield from told(inner)


def written(working: Working) -> str:
    return f"{working.name} {legible(working.value)}" + (f" {working.unit}" if working.unit else "")


def shown_whole(working: Working, page: str) -> list[str]:
    """Return what of a figure a page or a paper leaves out."""
    row = working_rows(working)[0]
    wanted = [written(working), row["formula"], working.source, *row["notes"]]
    wanted += [term["name"] for term in row["terms"]]
    inside = [missed for part in working.parts for missed in shown_whole(part, page)]
    flat = page.replace(" ", "")  # a paper breaks its lines where it must
    return [
        each for each in wanted if each.replace(NO_BREAK, "").replace(" ", "") not in flat
    ] + inside


def everywhere(figures: list[Working], *pages: str) -> None:
    assert figures
    for working in figures:
        assert faults(working) == []
        for page in pages:
            assert shown_whole(working, page) == []


def test_a_kit_shows_its_figures_on_page_and_paper_and_tells_them_to_programs(full, reader):
    figures = list(told(Program(Role.VIEWER).read("api-kit-detail", KIT)))
    names = {working.name for working in figures}
    assert {"Original gravity", "Bitterness", "Enzyme power", "Strike temperature"} <= names
    page = read(reader, "kit-detail", KIT)
    everywhere(figures, page, printed(reader, "kit-workings-pdf", KIT))


def test_a_revision_shows_the_figures_of_each_method(full, reader):
    figures = list(told(Program(Role.VIEWER).read("api-recipe-detail", "FULL")))
    assert len({id(working) for working in figures}) >= 13
    page = read(reader, "recipe-revision", "FULL", 1)
    everywhere(figures, page, printed(reader, "revision-workings-pdf", "FULL", 1))


def test_a_batch_shows_the_figures_of_its_sheet_its_lots_and_its_design(batch, reader):
    figures = list(told(Program(Role.VIEWER).read("api-batch-figures", batch.pk)))
    names = {working.name for working in figures}
    assert {
        "Bitterness after balancing",
        "Original gravity",
        "Best before, days from packing",
        "Bitter, lot BITTER-A",
        "Strike temperature",
        "Priming sugar, sucrose",
    } <= names
    page = read(reader, "batch-figures", batch.pk)
    everywhere(figures, page, printed(reader, "batch-figures-pdf", batch.pk))


def test_the_page_of_a_run_leads_to_the_figures_of_its_batches(batch, reader):
    page = reader.get(reverse("run-detail", args=[batch.run_line.run_id])).content.decode()
    for door in ("batch-beer", "batch-figures", "batch-figures-pdf"):
        assert reverse(door, args=[batch.pk]) in page


def test_a_proposal_shows_its_figures(proposal, reader):
    (figure,) = told(Program(Role.VIEWER).read("api-proposal-detail", proposal.pk))
    everywhere([figure], read(reader, "proposal-detail", proposal.pk))


@pytest.mark.parametrize("code", ["BITTER-A", "ALE-A"])
def test_a_lot_that_ages_shows_how(full, reader, code):
    lot = Lot.objects.get(code=code)
    figures = list(told(Program(Role.VIEWER).read("api-lot-detail", lot.pk)))
    everywhere(figures, read(reader, "lot-detail", lot.pk))


def test_what_a_hop_lot_does_to_kits_shows_its_alpha_acid(full, reader):
    lot = Lot.objects.get(code="BITTER-A")
    figures = list(told(Program(Role.VIEWER).read("api-lot-effects", lot.pk)))
    everywhere(figures, read(reader, "lot-effects", lot.pk))


def test_the_yeast_report_shows_life_and_pitch(batch, reader):
    figures = [
        working
        for working in told(Program(Role.VIEWER).read("api-yeast"))
        if working.name not in ("Final gravity", "Alcohol by volume")
    ]
    assert {working.name for working in figures} >= {"Viability", "Pitch"}
    lot = Lot.objects.get(code="ALE-A")
    page = read(reader, "yeast-list") + read(reader, "yeast-lot", lot.pk)
    everywhere(figures, page)


def test_every_figure_that_a_query_reads_can_be_checked_by_hand(full, proposal):
    lots = {lot.code: lot for lot in Lot.objects.select_related("item__hop")}
    days = {"pack_on": PACK_ON, "brew_on": PACK_ON + timedelta(days=10), "pouch": house().pouch}
    hop, yeast, run = lots["BITTER-A"], lots["ALE-A"], full.plan(5)
    found = {
        "hop alpha": hop_alphas([hop.pk], **days),
        "hop lives": hop_lives([hop.pk]).on(hop.pk, **days),
        "outlooks": [outlook_of(lot_row(lot.pk), TODAY) for lot in (hop, yeast)],
        "viability": yeast_lives([yeast.pk]).on(yeast.pk, PACK_ON),
        "pitched": yeast_lives([yeast.pk]).pitched_on(
            yeast.pk, PACK_ON, days["brew_on"], house().journey
        ),
        "kit": kit_detail(KIT),
        "brew day": kit_brew_day(full.kit.pk, kit_detail(KIT).bill),
        "recipe": recipe_detail("FULL"),
        "preview": run_preview(run),
        "proposals": proposal_rows(),
        "yeasts": yeast_rows(TODAY),
        "batch": batch_workings(proposal.batch_id),
        "beer": batch_figures([proposal.batch_id]),
        "effects": lot_effects(hop, TODAY),
    }
    for name, answer in found.items():
        figures = list(workings_in(answer))
        assert figures, name
        assert [fault for working in figures for fault in faults(working)] == [], name
