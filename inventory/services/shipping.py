"""Stock that leaves the house to a customer: one piece of work, one posting, no lot made."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from boxwort.accounts.models import User
from boxwort.errors import Refusal
from inventory.models import Conversion, ConversionKind, PlaceKind, Posting, PostingKind
from inventory.services.conversions import Used
from inventory.services.uses import take_use_back, use_lots_up


def ship_lots(
    *, by: User, used: Sequence[Used], occurred_on: date, reason: str, key: str
) -> Conversion:
    """Post what leaves for a customer; the same key again returns the same work.

    ``reason`` names the order, as the pages of the lots say it.

    Raises
    ------
    Refusal: as :func:`use_lots_up`.
    """
    return use_lots_up(
        by=by,
        kind=ConversionKind.DISPATCH,
        used=used,
        occurred_on=occurred_on,
        reason=reason,
        key=key,
        posted_as=PostingKind.DISPATCH,
        to=PlaceKind.CUSTOMER,
    )


def return_shipment(*, by: User, conversion: Conversion, key: str, reason: str) -> Posting:
    """Take a dispatch back whole, where it was written down wrongly: all of it is stock again.

    Raises
    ------
    Refusal: no reason; ``not-a-dispatch``; or it was taken back before.
    """
    return take_use_back(
        by=by,
        conversion=conversion,
        kind=ConversionKind.DISPATCH,
        posted_as=PostingKind.DISPATCH,
        key=key,
        reason=reason,
        other_work=Refusal(
            "not-a-dispatch",
            f"Work {conversion.code} is no dispatch.",
            "Undo other work on its own page.",
        ),
    )
