"""A purchase order to print or send."""

from __future__ import annotations

from django.http import HttpResponse
from django.utils import timezone

from boxwort.accounts.queries import site_settings
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from boxwort.web.papers import pdf_answer, reader_of
from planning.documents.order_paper import order_pdf
from planning.queries.purchase_orders import order_detail


@page(Right.READ)
def order_paper(request: SignedInRequest, order_id: int) -> HttpResponse:
    """Print an order for its supplier."""
    detail = order_detail(order_id, timezone.localdate())
    drawn = order_pdf(detail, currency=site_settings().currency, reader=reader_of(request.user))
    return pdf_answer(drawn, f"order-{detail.order.code}")
