"""The figures of kits and revisions as papers that show their working."""

from __future__ import annotations

from django.http import Http404, HttpResponse

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from boxwort.web.papers import pdf_answer, reader_of
from recipes.documents.working_sheet import kit_workings_pdf, revision_workings_pdf
from recipes.models import Kit, Recipe, Revision
from recipes.queries.brew_day import kit_brew_day, method_brew_days
from recipes.queries.kits import kit_detail
from recipes.queries.recipes import recipe_detail


@page(Right.READ)
def kit_workings_paper(request: SignedInRequest, code: str) -> HttpResponse:
    """Print the figures of a kit with their working."""
    try:
        kit = kit_detail(code)
    except Kit.DoesNotExist as missing:
        raise Http404 from missing
    day = kit_brew_day(kit.row.id, kit.bill)
    drawn = kit_workings_pdf(kit, day, reader=reader_of(request.user))
    return pdf_answer(drawn, f"figures-{code}")


@page(Right.READ)
def revision_workings_paper(request: SignedInRequest, code: str, number: int) -> HttpResponse:
    """Print the figures of every method of a revision with their working."""
    try:
        detail = recipe_detail(code, number)
    except (Recipe.DoesNotExist, Revision.DoesNotExist) as missing:
        raise Http404 from missing
    days = method_brew_days(method.id for method in detail.methods)
    drawn = revision_workings_pdf(detail, days, reader=reader_of(request.user))
    return pdf_answer(drawn, f"figures-{code}-revision-{number}")
