"""Whether a lot may be used: received, released, and not past its date."""

from __future__ import annotations

from datetime import date

from boxwort.errors import Refusal
from inventory.models import Lot, LotStatus
from inventory.services.entries import lot_facts


def check_usable(lot: Lot, on: date) -> None:
    """Refuse a lot that is not released, or whose best-before day lies before ``on``.

    ``on`` is a day in the site's time zone; a lot is good through its best-before day.
    """
    if lot.status != LotStatus.RELEASED:
        raise Refusal(
            "lot-not-released",
            f"Lot {lot.code} is {LotStatus(lot.status).label.lower()}.",
            "Release it first, or take another lot.",
            details={**lot_facts(lot), "status": lot.status},
        )
    if lot.best_before_on is not None and lot.best_before_on < on:
        raise Refusal(
            "lot-expired",
            f"Lot {lot.code} was best before {lot.best_before_on}, and would be used on {on}.",
            "Take another lot, and scrap this one if it is of no use.",
            details={**lot_facts(lot), "best_before_on": lot.best_before_on.isoformat()},
        )


def check_received(lot: Lot, on: date) -> None:
    """Refuse to move a lot on a day before it came into the house."""
    if on < lot.received_on:
        raise Refusal(
            "lot-not-yet-received",
            f"Lot {lot.code} was received on {lot.received_on}, after {on}.",
            "Give the day of receipt or a later one.",
            details={**lot_facts(lot), "received_on": lot.received_on.isoformat()},
        )
