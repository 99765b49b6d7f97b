"""Doors that exist only to be tested: one page, and API operations that fail in every way."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db.models import ProtectedError
from django.http import HttpResponse
from django.urls import include, path
from rest_framework.exceptions import Throttled, ValidationError
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from boxwort.accounts.models import User
from boxwort.errors import Refusal
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, answered, onward, page

FAILURES: dict[str, Exception] = {
    "held": Refusal(
        "lot-on-hold", "Lot H1 is on hold.", "Release it first.", details={"lot": "H1"}
    ),
    "raced": Refusal("changed-by-someone-else", "Ada changed it.", "Open it again."),
    "gone": Refusal("lot-not-found", "There is no lot H9.", "Check the code."),
    "fields": ValidationError({"lines": [{"quantity": ["Write a number."]}], "code": ["Taken."]}),
    "whole": ValidationError({"non_field_errors": ["The dates are the wrong way round."]}),
    "throttled": Throttled(wait=7),
    "fault": RuntimeError("a fault of ours"),
}
done: list[str] = []


@page(Right.RESERVE_RUN, methods=("GET", "POST"))
def reserve(request: SignedInRequest) -> HttpResponse:
    """Do something once, then go on."""
    if request.method == "GET":
        return HttpResponse("reserve?")

    def work() -> dict[str, Any]:
        done.append(request.POST["run"])
        return {"run": request.POST["run"], "times": len(done)}

    answered(request, {"run": request.POST["run"]}, work)
    return onward(request, "my-settings")


@page(Right.READ)
def fail(request: SignedInRequest, how: str) -> HttpResponse:
    """Fail as asked."""
    raise FAILURES[how]


class Fail(APIView):
    """Fails as asked."""

    right = Right.READ

    def get(self, request: Request, how: str) -> Response:
        if how == "protected":
            raise ProtectedError("in use", {User(pk=1)})
        raise FAILURES[how]


class Reserve(APIView):
    """Does something once."""

    rights_by_method = {"GET": Right.READ, "POST": Right.RESERVE_RUN}

    def get(self, request: Request) -> Response:
        return Response({"done": len(done)})

    def post(self, request: Request) -> Response:
        def work() -> dict[str, Any]:
            done.append("api")
            return {"times": len(done)}

        return Response(answered(request, dict(request.data), work), status=201)


class Undeclared(APIView):
    """Declares no right."""

    def get(self, request: Request) -> Response:
        return Response({})


urlpatterns = [
    path("reserve/", reserve, name="side-reserve"),
    path("fail/<str:how>/", fail, name="side-fail"),
    path("api/v1/fail/<str:how>/", Fail.as_view(), name="side-api-fail"),
    path("api/v1/reserve/", Reserve.as_view(), name="side-api-reserve"),
    path("api/v1/undeclared/", Undeclared.as_view(), name="side-api-undeclared"),
    path("", include(settings.ROOT_URLCONF)),
]
handler403 = "boxwort.web.failures.forbidden"
handler404 = "boxwort.web.failures.not_found"
handler500 = "boxwort.web.failures.server_error"
