"""Long lists in pages: the same row never twice, never a list without an end."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeVar

from django.core.paginator import Page, Paginator
from django.db.models import Model, QuerySet
from django.http import HttpRequest
from rest_framework.pagination import PageNumberPagination
from rest_framework.request import Request as ApiRequest
from rest_framework.views import APIView

T = TypeVar("T")
ROWS_ON_A_PAGE = 50
LONGEST_PAGE = 200


class Pages(PageNumberPagination):
    """Pages of the API: ``?page=2&page_size=100``, at most 200 rows each."""

    page_size = ROWS_ON_A_PAGE
    page_size_query_param = "page_size"
    max_page_size = LONGEST_PAGE

    def paginate_queryset(
        self, queryset: Any, request: ApiRequest, view: APIView | None = None
    ) -> list[Any] | None:
        """Return the rows of the page asked for, a tie in their order settled by id."""
        rows = settled(queryset) if isinstance(queryset, QuerySet) else queryset
        return super().paginate_queryset(rows, request, view)


def settled(rows: QuerySet[Model]) -> QuerySet[Model]:
    """Return the rows in their own order, ties broken by id, so that pages do not overlap."""
    order = rows.query.order_by or rows.model._meta.ordering or ()
    return rows.order_by(*order, "pk")


def page_of(request: HttpRequest, rows: Sequence[T]) -> Page[T]:
    """Return the page of rows that ``?page=`` asks for; show its links with {% pages page %}."""
    return Paginator(rows, ROWS_ON_A_PAGE).get_page(request.GET.get("page"))
