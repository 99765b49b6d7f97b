"""Stock that trial batches are brewed from: it is used up, and no lot is made of it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from boxwort.accounts.models import User
from boxwort.errors import Refusal
from inventory.models import Conversion, ConversionKind, Posting, PostingKind
from inventory.services.conversions import Used
from inventory.services.uses import take_use_back, use_lots_up


def use_for_trial(
    *, by: User, trial: str, used: Sequence[Used], occurred_on: date, key: str
) -> Conversion:
    """Post what a trial batch was brewed from; the same key again returns the same work.

    Raises
    ------
    Refusal: as :func:`use_lots_up`.
    """
    return use_lots_up(
        by=by,
        kind=ConversionKind.TRIAL,
        used=used,
        occurred_on=occurred_on,
        reason=f"Trial {trial}",
        key=key,
    )


def return_from_trial(*, by: User, conversion: Conversion, key: str, reason: str) -> Posting:
    """Take the use of stock by a trial back, where it was written down wrongly.

    Raises
    ------
    Refusal: no reason; ``not-a-trial``; or it was taken back before.
    """
    return take_use_back(
        by=by,
        conversion=conversion,
        kind=ConversionKind.TRIAL,
        posted_as=PostingKind.CONVERSION,
        key=key,
        reason=reason,
        other_work=Refusal(
            "not-a-trial",
            f"Work {conversion.code} is no trial that used stock.",
            "Undo other work on its own page.",
        ),
    )
