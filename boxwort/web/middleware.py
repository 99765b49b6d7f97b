"""The last catch of a page: refusals become answers, and a lost sign-in is said plainly."""

from __future__ import annotations

from collections.abc import Callable
from urllib.parse import urlsplit

from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.http.response import HttpResponseRedirectBase
from django.shortcuts import resolve_url
from django.utils.http import urlencode
from django_htmx.http import HttpResponseClientRedirect

from boxwort.errors import Refusal
from boxwort.web.failures import not_this_way, refused


class RefusalMiddleware:
    """Turns a refusal into a page or fragment, and a redirect to sign in into one htmx obeys."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        htmx = request.htmx  # type: ignore[attr-defined]  # set by HtmxMiddleware
        if htmx and _goes_to_sign_in(response):
            back = htmx.current_url_abs_path or resolve_url(settings.LOGIN_REDIRECT_URL)
            sign_in = resolve_url(settings.LOGIN_URL)
            return HttpResponseClientRedirect(f"{sign_in}?{urlencode({'next': back})}")
        if isinstance(response, HttpResponseNotAllowed):
            return not_this_way(request, response)
        return response

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """Answer a refusal; leave every other error to Django, which reports it."""
        return refused(request, exception) if isinstance(exception, Refusal) else None


def _goes_to_sign_in(response: HttpResponse) -> bool:
    if not isinstance(response, HttpResponseRedirectBase):
        return False
    return urlsplit(response.url).path == resolve_url(settings.LOGIN_URL)
