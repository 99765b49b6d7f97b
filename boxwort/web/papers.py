"""Papers at the door: the size a person prints on, and a PDF as an answer."""

from __future__ import annotations

from django.http import HttpResponse
from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.accounts.queries import site_settings
from boxwort.papers.printing import Paper, Reader

PDF = "application/pdf"


def paper_of(person: User) -> Paper:
    """Return the size of paper that goes with the units a person reads."""
    return Paper.LETTER if person.units == "us" else Paper.A4


def reader_of(person: User) -> Reader:
    """Return how a paper is printed for a person today."""
    return Reader(
        producer=site_settings().producer,
        on=timezone.localdate(),
        units=person.units,
        paper=paper_of(person),
    )


def pdf_answer(drawn: bytes, name: str) -> HttpResponse:
    """Return a PDF to look at, under a name to save it by."""
    return HttpResponse(
        drawn,
        content_type=PDF,
        headers={"Content-Disposition": f'inline; filename="{name}.pdf"'},
    )
