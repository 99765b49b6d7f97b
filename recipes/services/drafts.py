"""What every change of a draft goes through: it must still be a draft, and nobody else's."""

from __future__ import annotations

from boxwort.accounts.models import User
from boxwort.accounts.services import change_version
from boxwort.errors import Refusal
from recipes.models import Revision
from recipes.models.recipes import FROZEN_STATES


def refuse_frozen(revision: Revision) -> None:
    """Refuse to change a revision that has been offered (``revision-offered``)."""
    if revision.state in FROZEN_STATES:
        raise Refusal(
            "revision-offered",
            f"{revision} is {revision.get_state_display().lower()} and can no longer change.",
            "Start a new revision; it begins as a copy of the newest.",
        )


def locked_draft(revision: Revision) -> Revision:
    """Return the revision's row as it is now, locked; refused when it is no longer a draft."""
    locked = Revision.objects.select_for_update().select_related("recipe").get(pk=revision.pk)
    refuse_frozen(locked)
    return locked


def change_draft(*, by: User, revision: Revision, expected: int | None, action: str) -> None:
    """Take the next version of a draft for a change of its methods or yeasts.

    Every such change and the offering take a version, so an offering never misses one.
    ``expected`` is the version the person started from; without it, that of ``revision``.
    """
    locked_draft(revision)
    started = revision.version if expected is None else expected
    change_version(by=by, thing=revision, expected=started, action=action, changes={})
