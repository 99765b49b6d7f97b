"""The draft that a page edits: found, still a draft, and its methods."""

from __future__ import annotations

from django.http import Http404
from django.shortcuts import get_object_or_404

from recipes.brewing.roles import MethodKind
from recipes.models import Revision
from recipes.models.methods import METHOD_CHOICES
from recipes.services.drafts import refuse_frozen

KIND_LABELS = dict(METHOD_CHOICES)


def found_draft(revision_id: int) -> Revision:
    """Return a draft with its recipe; not found, or refused once it is offered."""
    revision = get_object_or_404(Revision.objects.select_related("recipe"), pk=revision_id)
    refuse_frozen(revision)
    return revision


def found_kind(kind: str) -> MethodKind:
    """Return the kind of method that an address names."""
    try:
        return MethodKind(kind)
    except ValueError as unknown:
        raise Http404 from unknown
