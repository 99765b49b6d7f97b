"""Files over the API: what is answered as it is, and not as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from django.core.exceptions import ObjectDoesNotExist
from django.http import Http404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from boxwort.papers.printing import Reader
from boxwort.roles import Right
from boxwort.web.operations_api import Operation
from boxwort.web.papers import PDF, reader_of


class AsItIs(JSONRenderer):
    """A file as it is; a problem document, where there is one, as JSON."""

    charset = None

    def render(
        self,
        data: Any,
        accepted_media_type: str | None = None,
        renderer_context: Mapping[str, Any] | None = None,
    ) -> Any:
        """Return the bytes of the file, or of the problem."""
        if isinstance(data, bytes):
            return data
        return super().render(data, accepted_media_type, renderer_context)


class Pdf(AsItIs):
    """A paper."""

    media_type = PDF
    format = "pdf"


class PaperReading(Operation):
    """A paper of one thing, in the units of the person who asks; ``name`` begins its file name."""

    right = Right.READ
    renderer_classes = [Pdf]
    name: ClassVar[str]

    @extend_schema(responses={(200, PDF): OpenApiTypes.BINARY})
    def get(self, request: Request, **ids: Any) -> Response:
        """Return the paper, or say that the thing is not there."""
        try:
            made = self.drawn(reader_of(request.user), **ids)  # type: ignore[arg-type]  # signed in
        except ObjectDoesNotExist:
            raise Http404 from None
        return file_answer(made, "-".join([self.name, *map(str, ids.values())]) + ".pdf")

    def drawn(self, reader: Reader, **ids: Any) -> bytes:
        """Return the paper; the model's DoesNotExist where there is no such thing."""
        raise NotImplementedError


def file_answer(made: bytes, name: str) -> Response:
    """Return a file under a name to save it by."""
    return Response(made, headers={"Content-Disposition": f'attachment; filename="{name}"'})
