"""Signing in over the API: a name and a password for the person's token, and revoking it."""

from __future__ import annotations

from collections.abc import Sequence
from http import HTTPStatus
from typing import Any, cast

from django.contrib.auth import authenticate
from django.http import HttpRequest
from django.utils.decorators import method_decorator
from django.views.decorators.debug import sensitive_post_parameters
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.authentication import BaseAuthentication
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import AnonRateThrottle
from rest_framework.views import APIView

from boxwort.accounts.models import User
from boxwort.accounts.tokens import revoke_token, standing_token
from boxwort.errors import Refusal
from boxwort.roles import Right


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
    """The token of a person: given for a password to whoever asks, taken away by its person."""

    throttle_classes = [SignInThrottle]
    rights_by_method = {"DELETE": Right.READ}
    problems_by_method = {
        "POST": (HTTPStatus.BAD_REQUEST, HTTPStatus.FORBIDDEN, HTTPStatus.TOO_MANY_REQUESTS)
    }

    def get_authenticators(self) -> list[BaseAuthentication]:
        """Return none for signing in: a token that opens nothing any more is no hindrance."""
        return super().get_authenticators() if self._revokes() else []

    def get_permissions(self) -> Sequence[Any]:
        """Let everybody sign in; the rest is behind its right."""
        return super().get_permissions() if self._revokes() else [AllowAny()]

    @extend_schema(operation_id="sign_in", request=SignInAsked, responses={200: TokenSerializer})
    def post(self, request: Request) -> Response:
        """Return the token of a person, made now if they have none.

        A person makes and revokes their token under "My settings" too, which keeps their password
        out of programs. After too many wrong passwords the name is locked for a while.
        """
        asked = SignInAsked(data=request.data)
        asked.is_valid(raise_exception=True)
        person = _signed_in(request._request, asked.validated_data)
        return Response({"token": standing_token(by=person)})

    @extend_schema(operation_id="revoke_token", request=None, responses={204: None})
    def delete(self, request: Request) -> Response:
        """Revoke one's own token: it opens nothing from now on.

        Without a token there is nothing to do, so that this may be repeated.
        """
        revoke_token(by=cast("User", request.user))
        return Response(status=HTTPStatus.NO_CONTENT)

    def _revokes(self) -> bool:
        return getattr(self.request, "method", "") == "DELETE"  # the schema asks with no request


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
