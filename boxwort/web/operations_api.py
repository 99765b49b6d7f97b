"""What the operations of the API have in common: a list, one thing, and an act done once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from http import HTTPStatus
from typing import Any, ClassVar

from django.core.exceptions import ObjectDoesNotExist
from django.db.models import QuerySet
from django.http import Http404
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.generics import GenericAPIView
from rest_framework.request import Request
from rest_framework.response import Response

from boxwort.accounts.models import User
from boxwort.roles import Right
from boxwort.web.doors import answered

Shape = type[serializers.Serializer[Any]]
FARTHEST = timedelta(days=10 * 366)


class Operation(GenericAPIView[Any]):
    """A door of the API. The schema takes its words from the docstring of the class."""

    right: ClassVar[Right]
    filter_backends: Any = []
    pagination_class: Any = None

    def told(self, shape: Shape | None, given: Any) -> dict[str, Any]:
        """Return what was asked as values of the trade; what cannot be read is refused."""
        if shape is None:
            return {}
        read = shape(data=given, context=self.get_serializer_context())
        read.is_valid(raise_exception=True)
        return dict(read.validated_data)

    def shown(self, shape: Shape, found: Any, *, many: bool = False) -> Any:
        """Return what was found in the shape of the answer."""
        return shape(found, many=many, context=self.get_serializer_context()).data


class Listing(Operation):
    """Rows, a page at a time: ``query`` is the shape of what is asked, ``answer`` of a row."""

    right = Right.READ
    query: ClassVar[Shape | None] = None
    answer: ClassVar[Shape]
    pagination_class: Any = GenericAPIView.pagination_class

    def get(self, request: Request) -> Response:
        """Return a page of the rows that fit the query."""
        rows: Any = self.rows(**self.told(self.query, request.query_params))
        page = self.paginate_queryset(rows)
        return self.get_paginated_response(self.shown(self.answer, page, many=True))

    def rows(self, **asked: Any) -> Sequence[Any]:
        """Return the rows in an order that stays."""
        raise NotImplementedError


class Reading(Operation):
    """One thing, or one report: ``query`` is the shape of what is asked."""

    right = Right.READ
    query: ClassVar[Shape | None] = None
    answer: ClassVar[Shape]

    def get(self, request: Request, **ids: Any) -> Response:
        """Return the thing, or say that it is not there."""
        asked = self.told(self.query, request.query_params)
        try:
            found = self.found(**ids, **asked)
        except ObjectDoesNotExist:
            raise Http404 from None
        if found is None:
            raise Http404
        return Response(self.shown(self.answer, found))

    def found(self, **asked: Any) -> Any:
        """Return the thing; None, or the model's DoesNotExist, where there is none."""
        raise NotImplementedError


class Act(Operation):
    """A thing a person does, done once however often its request key arrives.

    ``name`` is that of the operation, and of the service it calls; ``body`` is the shape of what
    is asked, ``result`` of the answer.
    """

    name: ClassVar[str]
    body: ClassVar[Shape]
    result: ClassVar[Shape]
    success: ClassVar[HTTPStatus] = HTTPStatus.OK

    def post(self, request: Request, **ids: Any) -> Response:
        """Do it, or return the answer of the first time."""
        given: Any = request.data
        asked = self.told(self.body, given)
        by: User = request.user  # type: ignore[assignment]  # the door let nobody else in
        ready = self.ready(**ids)

        def work() -> dict[str, Any]:
            return dict(self.shown(self.result, self.done(by, **ids, **asked, **ready)))

        return Response(answered(request, given, work), status=self.success)

    def ready(self, **ids: Any) -> Mapping[str, Any]:
        """Return what is read before the transaction that keeps the answer under its key."""
        return {}

    def done(self, by: User, **asked: Any) -> Any:
        """Call the service, and return what its answer shows."""
        raise NotImplementedError


@extend_schema_field(OpenApiTypes.STR)
class CodeField(serializers.SlugRelatedField[Any]):
    """A thing named by its code, which is how people know it."""

    default_error_messages: ClassVar = {
        "does_not_exist": "Nothing here has the code {value}.",
        "invalid": "This is not a code.",
    }

    def __init__(self, rows: QuerySet[Any], *, code: str = "code", **kwargs: Any) -> None:
        super().__init__(slug_field=code, queryset=rows, **kwargs)

    def to_internal_value(self, data: Any) -> Any:
        """Return the thing; no code holds a NUL, and PostgreSQL would not be asked for one."""
        if "\0" in str(data):
            self.fail("invalid")
        return super().to_internal_value(data)


class VersionAsked(serializers.Serializer[Any]):
    """The version of the thing that the caller read, so that no change of another is lost."""

    version = serializers.IntegerField(min_value=1)


def not_to_come(day: date) -> None:
    """Refuse a day after today: what is written down has happened."""
    if day > timezone.localdate():
        msg = "This day has not come yet. Write the day it happened."
        raise serializers.ValidationError(msg)


def not_far_off(day: date) -> None:
    """Refuse a day that can only be a slip of the pen, and that days could not be added to."""
    if abs(day - timezone.localdate()) > FARTHEST:
        msg = "This day is more than ten years away. Check its year."
        raise serializers.ValidationError(msg)


class DayAsked(serializers.Serializer[Any]):
    """The day a report is for."""

    on = serializers.DateField(
        required=False, help_text="Today unless given.", validators=[not_far_off]
    )
