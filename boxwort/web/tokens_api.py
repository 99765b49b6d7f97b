"""Signing in over the API: a name and a password for the person's token."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django.contrib.auth import authenticate
from django.http import HttpRequest
from django.utils.decorators import method_decorator
from django.views.decorators.debug import sensitive_post_parameters
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import AnonRateThrottle
from rest_framework.views import APIView

from boxwort.accounts.models import User
from boxwort.accounts.tokens import standing_token
from boxwort.errors import Refusal


class SignInThrottle(AnonRateThrottle):
    """At most so many tries from one address."""

    scope = "sign-in"
    rate = "20/min"


class SignInAsked(serializers.Serializer[Any]):
    """A person's name and password."""

    username = serializers.CharField(max_length=150)
    password = serializers.CharField(max_length=1000, trim_whitespace=False)


class TokenSerializer(serializers.Serializer[Any]):
    """The token to send with every request, as ``Authorization: Token ...``."""

    token = serializers.CharField()


@method_decorator(sensitive_post_parameters(), name="dispatch")
class TokenSignIn(APIView):
    """Return the token of a person, made now if they have none.

    A person makes and revokes their token under "My settings" too, which keeps their password out
    of programs. After too many wrong passwords the name is locked for a while.
    """

    authentication_classes = []
    permission_classes = [AllowAny]
    throttle_classes = [SignInThrottle]
    problems = (HTTPStatus.BAD_REQUEST, HTTPStatus.FORBIDDEN, HTTPStatus.TOO_MANY_REQUESTS)

    @extend_schema(operation_id="sign_in", request=SignInAsked, responses={200: TokenSerializer})
    def post(self, request: Request) -> Response:
        asked = SignInAsked(data=request.data)
        asked.is_valid(raise_exception=True)
        person = _signed_in(request._request, asked.validated_data)
        return Response({"token": standing_token(by=person)})


def _signed_in(request: HttpRequest, asked: dict[str, str]) -> User:
    """Return the person; the guard against guessing counts what is wrong."""
    person = authenticate(request, **asked)
    if getattr(request, "axes_locked_out", False):
        vars(request)["axes_locked_out"] = False  # answered here, not with a page
        raise Refusal(
            "sign-in-locked",
            "There were too many wrong passwords for this name.",
            "Wait a quarter of an hour, then try again.",
        )
    if not isinstance(person, User):
        raise Refusal(
            "sign-in-refused",
            "The name or the password is wrong.",
            "Try again, or make a token under “My settings”.",
        )
    return person
