"""A purchase order on paper."""

from __future__ import annotations

import io

import pytest
from pypdf import PdfReader

from boxwort.papers.printing import Reader
from planning.documents.order_paper import order_pdf
from planning.queries.purchase_orders import order_detail
from planning.services.purchase_orders import cancel_order
from tests.planning.buying import ON, market

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]


def text(order) -> str:
    detail = order_detail(order.pk, ON)
    drawn = order_pdf(detail, currency="USD", reader=Reader(producer="Fernhollow", on=ON))
    found = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(drawn)).pages)
    return found.replace("\N{NO-BREAK SPACE}", " ")


def test_an_order_names_packs_prices_and_dates():
    shop = market()
    read = text(shop.sent(shop.line(packs=4)))
    packs = "4 \N{MULTIPLICATION SIGN}"
    for said in ("Malt Company", "PO260302-1", packs, "100.000 kg", "160.00", "9 Mar 2026"):
        assert said in read


def test_a_cancelled_order_is_void():
    shop = market()
    order = shop.sent()
    assert "Cancelled" not in text(order)
    cancel_order(by=shop.by, order=order, expected=order.version, reason="ordered twice")
    assert "Cancelled" in text(order)
