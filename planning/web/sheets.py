"""Sheets to look at and papers to print: weigh sheet, instruction sheet, pick list."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render

from boxwort.errors import Refusal
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from boxwort.web.papers import paper_of, pdf_answer
from planning.documents.brew_day import CAUTIONS
from planning.documents.papers import instruction_sheet_pdf, pick_list_pdf, weigh_sheet_pdf
from planning.models import SheetRevision
from planning.queries.picking import places_of
from planning.queries.runs import run_detail, sheet_row


@page(Right.READ)
def sheet_detail(request: SignedInRequest, sheet_id: int) -> HttpResponse:
    """Show a sheet as it was issued; a void one says so."""
    sheet = _sheet(sheet_id)
    batch = sheet.batch
    lines = sheet.content["lines"]
    context = {
        "sheet": sheet_row(sheet),
        "content": sheet.content,
        "batch": batch,
        "run": batch.run_line.run,
        "packed": [line for line in lines if not line["at_dispatch"]],
        "dispatched": [line for line in lines if line["at_dispatch"]],
        "others": batch.sheets.exclude(pk=sheet.pk).order_by("-number"),
        "cautions": CAUTIONS,
    }
    return render(request, "planning/sheet_detail.html", context)


@page(Right.READ)
def weigh_sheet_paper(request: SignedInRequest, sheet_id: int) -> HttpResponse:
    """Print a weigh sheet; a void one is marked so on every page."""
    sheet = _sheet(sheet_id)
    void = (sheet.void_reason or "replaced") if sheet.voided_at else ""
    drawn = weigh_sheet_pdf(sheet.content, void=void, paper=paper_of(request.user))
    return pdf_answer(drawn, f"weigh-sheet-{sheet.batch.code}-{sheet.number}")


@page(Right.READ)
def instruction_sheet_paper(request: SignedInRequest, sheet_id: int) -> HttpResponse:
    """Print the brewer's instruction sheet of a batch, in the units this person reads."""
    sheet = _sheet(sheet_id)
    if sheet.voided_at:
        raise Refusal(
            "sheet-void",
            f"Sheet {sheet.number} of batch {sheet.batch.code} is void: {sheet.void_reason}.",
            "Print the instructions from the batch's open sheet.",
        )
    person = request.user
    drawn = instruction_sheet_pdf(sheet.content, units=person.units, paper=paper_of(person))
    return pdf_answer(drawn, f"instructions-{sheet.batch.code}-{sheet.number}")


@page(Right.READ)
def pick_list_paper(request: SignedInRequest, run_id: int) -> HttpResponse:
    """Print the lots to fetch for a run, place by place."""
    run = run_detail(run_id)
    contents = [batch.sheet.content for batch in run.batches if batch.sheet]
    if not contents:
        raise Refusal(
            "nothing-to-pick",
            f"Run {run.code} is {run.state_words.lower()} and holds no lots.",
            "Reserve it first: its lots are chosen then.",
        )
    codes = {
        lot["code"] for content in contents for line in content["lines"] for lot in line["lots"]
    }
    drawn = pick_list_pdf(contents, places=places_of(codes), paper=paper_of(request.user))
    return pdf_answer(drawn, f"pick-list-{run.code}")


def _sheet(sheet_id: int) -> SheetRevision:
    rows = SheetRevision.objects.select_related("issued_by", "batch__run_line__run")
    return get_object_or_404(rows, pk=sheet_id)
