"""The form of a method as a person finds it, for tests that type into it."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from typing import Any

from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from recipes.brewing.roles import MethodKind
from recipes.models import Revision
from recipes.queries.contents import methods_in_full
from recipes.web.method_texts import standing_texts


def boxes(
    revision: Revision,
    kind: MethodKind = MethodKind.EXTRACT,
    system: str = "metric",
    **typed: str,
) -> dict[str, Any]:
    """Return the boxes of a method as it stands, with what is typed over them."""
    revision.refresh_from_db()
    method = methods_in_full().filter(revision=revision, kind=kind).first()
    texts = dict(standing_texts(method, kind, system, revision.version).lists())
    return {**texts, "seen": [str(revision.version)], **typed}


def press(
    browser: Client,
    revision: Revision,
    act: str,
    filled: Mapping[str, Any],
    kind: MethodKind = MethodKind.EXTRACT,
    key: str = "",
) -> HttpResponse:
    """Press a button of the form."""
    url = reverse("method-edit", args=[revision.pk, kind.value])
    return browser.post(url, {"act": act, "request_key": key or str(uuid.uuid4()), **filled})


def type_in(
    browser: Client,
    revision: Revision,
    filled: Mapping[str, Any],
    kind: MethodKind = MethodKind.EXTRACT,
    key: str = "",
) -> HttpResponse:
    """Send what is typed, as the page does while somebody types."""
    url = reverse("method-figures", args=[revision.pk, kind.value])
    return browser.post(url, {"request_key": key or str(uuid.uuid4()), **filled})
