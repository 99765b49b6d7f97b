"""Offering a revision freezes it; retiring takes it out of use."""

from __future__ import annotations

from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.accounts.queries import site_settings
from boxwort.accounts.services import change_version, fingerprint, service, write_history
from boxwort.errors import Refusal
from recipes.brewing.bill import packed_amount
from recipes.models import Line, Method, Revision, RevisionState
from recipes.queries.contents import MethodContent, brew_of, live_content, methods_in_full
from recipes.queries.figures import computed, plain_figures
from recipes.queries.obstacles import obstacles, refused
from recipes.queries.packed_brews import WEIGHT_STAYS
from recipes.services.drafts import locked_draft


@service
def offer_revision(*, by: User, revision: Revision, expected: int) -> Revision:
    """Freeze a revision and offer it: from now on nothing that moves its figures may change.

    Hops whose weight stays are put on the step of the pouch scale; each method keeps its content,
    with the specifications of its items and substitutes as they are today, and its figures.

    Raises
    ------
    Refusal: ``revision-offered`` when it already is; the first of its obstacles, with all of them
        in the details; ``changed-by-someone-else``.
    """
    locked_draft(revision)
    found = obstacles(revision.pk)
    if found:
        raise refused(found)
    _settle_held_weights(by, revision)
    contents = [_freeze(method) for method in methods_in_full().filter(revision=revision)]
    change_version(
        by=by,
        thing=revision,
        expected=expected,
        action="offer-revision",
        changes={
            "state": RevisionState.OFFERED,
            "content_hash": fingerprint({"methods": contents}),
            "offered_at": timezone.now(),
            "offered_by": by,
        },
    )
    return revision


@service
def retire_revision(*, by: User, revision: Revision, expected: int) -> Revision:
    """Take an offered revision out of use. It stays as it was, for the kits that were packed.

    Raises
    ------
    Refusal: ``revision-not-offered``, or ``changed-by-someone-else``.
    """
    if revision.state != RevisionState.OFFERED:
        raise Refusal(
            "revision-not-offered",
            f"{revision} is {revision.get_state_display().lower()} and cannot be retired.",
            "Only an offered revision is retired.",
        )
    change_version(
        by=by,
        thing=revision,
        expected=expected,
        action="retire-revision",
        changes={"state": RevisionState.RETIRED},
    )
    return revision


def _settle_held_weights(by: User, revision: Revision) -> None:
    step_mg = site_settings().pouch_resolution_mg
    held = Line.objects.filter(method__revision=revision, role__in=WEIGHT_STAYS)
    for line in held.select_related("item"):
        packed = packed_amount(float(line.quantity), line.item.container_quantity or step_mg)
        if packed != line.quantity:
            before, line.quantity = line.quantity, packed
            line.save(update_fields=["quantity"])
            write_history(
                by=by,
                thing=line,
                action="settle-held-weight",
                before={"quantity": before},
                after={"quantity": packed},
            )


def _freeze(method: Method) -> MethodContent:
    content = live_content(method)
    result = computed(brew_of(content))
    method.frozen = {"content": content, "figures": plain_figures(result)}
    method.save(update_fields=["frozen"])
    return content
