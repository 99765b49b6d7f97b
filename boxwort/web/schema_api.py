"""How the API describes itself: words from docstrings, rights and problems from the operations.

An operation's docstring is its summary (the first line) and description; the right it asks for
and the roles that hold it follow by themselves, and so do the problem documents it may answer
with and the request key of one that writes.
"""

from __future__ import annotations

import inspect
from http import HTTPStatus
from typing import Any

from drf_spectacular.openapi import AutoSchema
from drf_spectacular.utils import OpenApiResponse
from rest_framework import serializers

from boxwort.roles import ROLES_WITH
from boxwort.web.doors import right_of
from boxwort.web.keys import IDEMPOTENCY_KEY
from boxwort.web.operations_api import Act, Listing, Operation, Reading
from boxwort.web.problems import CONTENT_TYPE


class FieldProblemSerializer(serializers.Serializer[Any]):
    """One value that was refused."""

    pointer = serializers.CharField(help_text="JSON pointer into the body, or the query.")
    detail = serializers.CharField()


class ProblemSerializer(serializers.Serializer[Any]):
    """What went wrong and what to do now (RFC 9457)."""

    type = serializers.CharField(help_text="A URN that ends in the code, or about:blank.")
    title = serializers.CharField()
    status = serializers.IntegerField()
    detail = serializers.CharField()
    instance = serializers.CharField()
    code = serializers.CharField(help_text="Stable; for programs.")
    remedy = serializers.CharField()
    errors = FieldProblemSerializer(  # type: ignore[assignment]  # a field
        many=True, required=False
    )
    facts = serializers.DictField(required=False, help_text="The figures behind a refusal.")


class OperationSchema(AutoSchema):
    """The schema of one operation."""

    view: Any

    def get_operation_id(self) -> str:
        """Return the name of an act, which is its service's; the path's name of a reading."""
        return self.view.name if self._writes() else super().get_operation_id()

    def get_summary(self) -> str:
        """Return the first line of the docstring."""
        return self._words().split("\n", 1)[0].rstrip(".")

    def get_description(self) -> str:  # type: ignore[override]  # as AutoSchema has it
        """Return the rest of the docstring and who may."""
        more = self._words().partition("\n")[2].strip()
        return "\n\n".join(filter(None, (more, self._who_may())))

    def get_request_serializer(self) -> Any:
        """Return the shape of the body."""
        if isinstance(self.view, Operation):
            return self.view.body if isinstance(self.view, Act) and self._writes() else None
        return super().get_request_serializer()

    def get_response_serializers(self) -> Any:
        """Return the shape of the answer."""
        if self._writes():
            return {str(self.view.success.value): self.view.result}
        if isinstance(self.view, Listing):
            return self.view.answer(many=True)
        if isinstance(self.view, Reading):
            return self.view.answer
        return super().get_response_serializers()

    def get_override_parameters(self) -> Any:
        """Return the query of a reading, and the request key of an act."""
        parameters = list(super().get_override_parameters())
        if self._writes():
            parameters.append(IDEMPOTENCY_KEY)
        elif query := getattr(self.view, "query", None):
            parameters.append(query)
        return parameters

    def _get_response_bodies(self, direction: Any = "response") -> Any:
        bodies = super()._get_response_bodies(direction)
        for status in self._problems():
            problem = OpenApiResponse(
                ProblemSerializer, description="What is wrong, and what to do."
            )
            code = str(status.value)
            bodies[code] = self._get_response_for_code(  # type: ignore[no-untyped-call]
                problem, code, [CONTENT_TYPE]
            )
        return bodies

    def _problems(self) -> list[HTTPStatus]:
        by_method = getattr(self.view, "problems_by_method", {})
        found = list(by_method.get(self.method, getattr(self.view, "problems", ())))
        if self._right() is not None:
            found += [HTTPStatus.UNAUTHORIZED, HTTPStatus.FORBIDDEN]
        if "{" in self.path or self._is_list_view():
            found.append(HTTPStatus.NOT_FOUND)
        if self._writes():
            found += [HTTPStatus.CONFLICT, HTTPStatus.UNPROCESSABLE_ENTITY]
        if self._writes() or getattr(self.view, "query", None):
            found.append(HTTPStatus.BAD_REQUEST)
        return sorted(set(found))

    def _writes(self) -> bool:
        return isinstance(self.view, Act) and self.method == "POST"

    def _who_may(self) -> str:
        right = self._right()
        if right is None:
            return "Open to everybody."
        roles = ", ".join(sorted(ROLES_WITH[right]))
        return f"Right: {right.replace('-', ' ')} ({roles})."

    def _right(self) -> Any:
        return right_of(self.view, self.method, getattr(self.view, "action", None))

    def _words(self) -> str:
        """Return the docstring of what handles the request, or of its class if it has none."""
        action = getattr(self.view, "action", None)
        method = "done" if self._writes() else self.method.lower()
        handler = vars(type(self.view)).get(action or method)
        return inspect.cleandoc(getattr(handler, "__doc__", None) or type(self.view).__doc__ or "")
