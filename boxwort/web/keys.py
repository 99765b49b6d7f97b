"""Request keys: how a page or an API client says "this is still the same request"."""

from __future__ import annotations

from django.http import HttpRequest
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request as ApiRequest

from boxwort.accounts.models import Request
from boxwort.errors import Refusal

FIELD = "request_key"
HEADER = "Idempotency-Key"
LONGEST = Request._meta.get_field("key").max_length or 0

#: For ``@extend_schema(parameters=[IDEMPOTENCY_KEY])`` on an API operation that writes.
IDEMPOTENCY_KEY = OpenApiParameter(
    name=HEADER,
    type=OpenApiTypes.STR,
    location=OpenApiParameter.HEADER,
    required=True,
    description=(
        f"A new value for each new request, at most {LONGEST} characters (a UUID, say). Sent again "
        "with the same body it returns the first answer and does nothing; with another body it is "
        "refused."
    ),
)


def key_of(request: HttpRequest | ApiRequest) -> str:
    """Return the key sent with a request: the header of an API call, the field of a form.

    The header may be written as a structured-field string ("..." in quotes) or bare.
    """
    if isinstance(request, ApiRequest):
        key, where = request.headers.get(HEADER, "").strip().strip('"'), f"the {HEADER} header"
    else:
        key, where = request.POST.get(FIELD, ""), f"the form's {FIELD} field"
    if not key:
        raise Refusal(
            "request-key-missing",
            "The request came without its request key, so repeating it could do the work twice.",
            f"Send a new UUID in {where}; send the same one again only to repeat the request.",
        )
    if len(key) > LONGEST or not key.isprintable():
        raise Refusal(
            "request-key-unusable",
            f"The request key in {where} is longer than {LONGEST} characters or not plain text.",
            "Send a UUID.",
        )
    return key
