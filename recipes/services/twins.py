"""A drafted twin, taken over as a method of the draft once a person has looked at it."""

from __future__ import annotations

from boxwort.accounts.models import User
from boxwort.accounts.services import service
from recipes.brewing.roles import HopRole, Use
from recipes.models import Method
from recipes.queries.twin_drafts import twin_draft
from recipes.services.methods import LineFacts, MethodFacts, write_method


@service
def draft_twin(
    *,
    by: User,
    method: Method,
    pre_boil_volume: int,
    post_boil_volume: int,
    partial_mash: bool = True,
    expected: int | None = None,
) -> Method:
    """Write the twin that the converter drafts of a method; it is then edited like any other.

    ``pre_boil_volume`` and ``post_boil_volume`` are microlitres in its kettle. A method of the
    twin's kind that stands already is written anew.

    Raises
    ------
    Refusal: ``twin-impossible``; ``revision-offered``, ``changed-by-someone-else``, and what
        :func:`write_method` refuses.
    """
    draft = twin_draft(
        method.pk,
        pre_boil_volume=pre_boil_volume,
        post_boil_volume=post_boil_volume,
        partial_mash=partial_mash,
    )
    return write_method(
        by=by,
        revision=method.revision,
        facts=MethodFacts(**draft.said),
        lines=[
            LineFacts(
                **{
                    **line,
                    "use": Use(line["use"]),
                    "role": HopRole(line["role"]) if line.get("role") else None,
                }
            )
            for line in draft.lines
        ],
        expected=expected,
    )
