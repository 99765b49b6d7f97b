"""The page of the styles that beers are compared with."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from boxwort.web.paging import page_of
from recipes.queries.styles import style_rows


@page(Right.READ)
def style_list(request: SignedInRequest) -> HttpResponse:
    """List the styles with the least and the most of each figure."""
    return render(request, "recipes/style_list.html", {"page": page_of(request, style_rows())})
