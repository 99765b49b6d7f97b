"""Dispatches that were written down: to read, to print, and to take back."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from boxwort.web.kept import Words, kept
from boxwort.web.keys import key_of
from boxwort.web.paging import page_of
from boxwort.web.papers import paper_of, pdf_answer
from planning.documents.brew_day import CAUTIONS
from planning.documents.dispatch_note import COLD_YEAST, dispatch_note_pdf
from planning.documents.dispatch_sheet import box_sheet
from planning.documents.papers import instruction_sheet_pdf
from planning.models import Dispatch, SheetRevision
from planning.queries.dispatches import DispatchDetail, dispatch_rows
from planning.queries.dispatches import dispatch_detail as found_dispatch
from planning.services.dispatching import undo_dispatch
from planning.web.reasons import ReasonForm, reason_form


@page(Right.READ)
def dispatch_list(request: SignedInRequest) -> HttpResponse:
    """Show what left, the newest first."""
    return render(
        request, "planning/dispatch_list.html", {"page": page_of(request, dispatch_rows())}
    )


@page(Right.READ)
def dispatch_named(request: SignedInRequest, code: str) -> HttpResponse:
    """Lead to a dispatch by its code."""
    return redirect("dispatch-detail", get_object_or_404(Dispatch, code=code).pk)


@page(Right.READ)
def dispatch_detail(request: SignedInRequest, dispatch_id: int) -> HttpResponse:
    """Show what left, in which lots, how long it keeps and what to be careful of."""
    context = {
        "dispatch": _detail(dispatch_id, request.user.units),
        "cautions": CAUTIONS,
        "cold_yeast": COLD_YEAST,
    }
    return render(request, "planning/dispatch_detail.html", context)


@page(Right.READ)
def dispatch_note_paper(request: SignedInRequest, dispatch_id: int) -> HttpResponse:
    """Print the note that goes with the boxes."""
    dispatch = get_object_or_404(Dispatch, pk=dispatch_id)
    person = request.user
    void = "undone" if dispatch.undone_at else ""
    drawn = dispatch_note_pdf(
        dispatch.content, void=void, units=person.units, paper=paper_of(person)
    )
    return pdf_answer(drawn, f"dispatch-note-{dispatch.code}")


@page(Right.READ)
def box_instructions_paper(
    request: SignedInRequest, dispatch_id: int, number: int, batch: str
) -> HttpResponse:
    """Print the instructions of a batch as the box with this number left with it."""
    dispatch = get_object_or_404(Dispatch, pk=dispatch_id)
    boxes = dispatch.content["boxes"]
    if not 1 <= number <= len(boxes) or batch not in boxes[number - 1]["batches"]:
        raise Http404
    sheet = get_object_or_404(SheetRevision, batch__code=batch, voided_at__isnull=True)
    content = box_sheet(sheet.content, boxes[number - 1])
    person = request.user
    drawn = instruction_sheet_pdf(content, units=person.units, paper=paper_of(person))
    return pdf_answer(drawn, f"instructions-{dispatch.code}-{number}-{batch}")


@page(Right.DISPATCH, methods=("GET", "POST"))
def dispatch_undo(request: SignedInRequest, dispatch_id: int) -> HttpResponse:
    """Take a dispatch back, once that is confirmed with a reason."""
    rows = Dispatch.objects.select_related("order", "conversion")
    dispatch = get_object_or_404(rows, pk=dispatch_id)

    def write(form: ReasonForm) -> dict[str, Any]:
        undo_dispatch(
            by=request.user,
            dispatch=dispatch,
            expected=form.cleaned_data["version"],
            reason=form.cleaned_data["reason"],
            key=key_of(request),
        )
        return {"dispatch": dispatch_id}

    words = Words(
        title="Undo the dispatch",
        thing=f"Dispatch {dispatch.code}",
        back=reverse("dispatch-detail", args=[dispatch.pk]),
        what="What left is stock again, and the order is open for it. Do this where it was written "
        "down wrongly, not for what a customer sends back.",
        button="Undo the dispatch",
        said=f"Dispatch {dispatch.code} is undone; its lots are stock again.",
        danger=True,
    )
    return kept(request, reason_form(dispatch.version, "Why it is undone"), write, words)


def _detail(dispatch_id: int, units: str) -> DispatchDetail:
    try:
        return found_dispatch(dispatch_id, units)
    except Dispatch.DoesNotExist:
        raise Http404 from None
