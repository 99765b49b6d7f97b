"""What people type at a draft's method is kept as they type it, until they save or discard it.

It is nobody's act on the recipe yet, so it takes no version and leaves no history.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.accounts.services import service
from boxwort.errors import Refusal
from recipes.brewing.roles import MethodKind
from recipes.models import Revision, TypedMethod
from recipes.services.drafts import refuse_frozen

Texts = Mapping[str, Sequence[str]]
MOST_CHARACTERS = 100_000


@service
def keep_typed(
    *,
    by: User,
    revision: Revision,
    kind: MethodKind,
    texts: Texts,
    started_from: int,
    form: str,
) -> TypedMethod | None:
    """Keep the boxes of a method as they stand; None when the form was saved or discarded already.

    Parameters
    ----------
    texts: what is in each box, whatever it says. Empty: nothing waits to be saved any more.
    started_from: the version of the revision that the typing began from.
    form: the request key of the form, which names one showing of the page.

    Raises
    ------
    Refusal: ``revision-offered``, or ``typing-too-long``.
    """
    refuse_frozen(revision)
    _refuse_endless(texts)
    typed, _ = TypedMethod.objects.select_for_update().get_or_create(
        revision=revision,
        kind=kind,
        typed_by=by,
        defaults={"typed_at": timezone.now(), "started_from": started_from},
    )
    if typed.settled == form:
        return None
    typed.texts = {name: list(values) for name, values in texts.items()}
    typed.typed_at, typed.started_from = timezone.now(), started_from
    typed.save(update_fields=["texts", "typed_at", "started_from"])
    return typed


@service
def settle_typed(*, by: User, revision: Revision, kind: MethodKind, form: str) -> None:
    """Let go of what a person typed: it is saved, or they discard it.

    Whatever the same form still sends is late and is not kept.
    """
    now, version = timezone.now(), Revision.objects.values_list("version").get(pk=revision.pk)[0]
    TypedMethod.objects.update_or_create(
        revision=revision,
        kind=kind,
        typed_by=by,
        defaults={"typed_at": now, "started_from": version, "texts": {}, "settled": form},
    )


@service
def go_on_typing(*, by: User, revision: Revision, before: int) -> None:
    """Let a person's own change of a revision not count as somebody else's for their typing.

    ``before`` is the version that their change began from.
    """
    mine = TypedMethod.objects.filter(revision=revision, typed_by=by, started_from=before)
    mine.update(started_from=Revision.objects.values_list("version").get(pk=revision.pk)[0])


def _refuse_endless(texts: Texts) -> None:
    if sum(len(text) for values in texts.values() for text in values) > MOST_CHARACTERS:
        raise Refusal(
            "typing-too-long",
            f"More than {MOST_CHARACTERS:,} characters were typed.",
            "Shorten the steps or the notes.",
        )
