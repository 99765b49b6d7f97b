"""Taking a posting back, once that is confirmed with a reason."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, onward, page
from boxwort.web.keys import key_of
from boxwort.web.submitting import submitted
from inventory.models import Move, Posting
from inventory.services.ledger import check_owner, reverse_posting
from inventory.web.fields import reason_field


class ReversalForm(forms.Form):
    """Why a posting is taken back."""

    reason = reason_field("Why it is taken back")


@page(Right.CORRECT_STOCK, methods=("GET", "POST"))
def posting_reverse(request: SignedInRequest, posting_id: int) -> HttpResponse:
    """Post the moves of a posting backwards."""
    posting = get_object_or_404(Posting.objects.select_related("conversion", "by"), pk=posting_id)
    check_owner(posting, None)
    moves = list(posting.moves.select_related("lot__item", "from_place", "to_place").order_by("pk"))
    form = ReversalForm(request.POST or None)
    if request.method != "POST":
        return _asked(request, posting, moves, form)

    def work() -> dict[str, Any]:
        made = reverse_posting(
            by=request.user,
            posting=posting,
            key=key_of(request),
            reason=form.cleaned_data["reason"],
        )
        return {"posting": made.pk}

    done = submitted(request, form, work)
    if done.answer is None:
        return _asked(request, posting, moves, form, status=done.status)
    messages.success(request, "The posting is taken back.")
    return onward(request, "lot-detail", moves[0].lot_id)


def _asked(
    request: SignedInRequest,
    posting: Posting,
    moves: list[Move],
    form: ReversalForm,
    *,
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    context = {"posting": posting, "moves": moves, "form": form}
    return render(request, "inventory/posting_reverse.html", context, status=status)
