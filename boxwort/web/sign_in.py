"""Signing in, by password or once by link, and out."""

from __future__ import annotations

from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from boxwort.accounts.one_time import one_time_user, spend_one_time_link

sign_in = LoginView.as_view(template_name="web/sign_in.html", redirect_authenticated_user=True)
sign_out = login_not_required(LogoutView.as_view())


@login_not_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def one_time_sign_in(request: HttpRequest) -> HttpResponse:
    """Ask for one press of a button, then sign in: a link that is merely fetched is not spent."""
    if request.method == "POST":
        user = spend_one_time_link(token=request.POST.get("token", ""))
        login(request, user, backend="django.contrib.auth.backends.ModelBackend")
        return redirect("today")
    token = request.GET.get("token", "")
    context = {"person": one_time_user(token), "token": token}
    return render(request, "web/one_time_sign_in.html", context)
