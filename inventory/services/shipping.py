"""Stock that leaves the house to a customer: one piece of work, one posting, no lot made."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import date

from boxwort.accounts.models import User
from boxwort.accounts.services import service, write_history
from boxwort.errors import Refusal
from inventory.models import (
    Conversion,
    ConversionKind,
    ConversionState,
    PlaceKind,
    Posting,
    PostingKind,
)
from inventory.services.balances import lock_lots
from inventory.services.conversions import Used, input_cost, moves_in, taken_of
from inventory.services.entries import check_reason
from inventory.services.ledger import reverse_posting, write_moves
from inventory.services.works import begin_work


@service
def ship_lots(
    *, by: User, used: Sequence[Used], occurred_on: date, reason: str, key: str
) -> Conversion:
    """Post what leaves for a customer; the same key again returns the same work.

    ``reason`` names the order, as the pages of the lots say it. What it cost, the shares of what
    its lots cost, stands in its history.

    Raises
    ------
    Refusal: ``nothing-used``, or what the ledger refuses: a lot that is not released, is expired,
        or of which not so much is here or free.
    """
    work, posting, again = begin_work(
        by=by,
        kind=ConversionKind.DISPATCH,
        occurred_on=occurred_on,
        key=key,
        asked={"used": [asdict(row) for row in used]},
        reason=reason,
        posted_as=PostingKind.DISPATCH,
    )
    if again:
        return work
    taken = taken_of(used)
    lots = lock_lots(taken)
    write_moves(posting, moves_in(taken, lots, to=PlaceKind.CUSTOMER), lots)
    work.state = ConversionState.DONE
    work.save(update_fields=["state"])
    write_history(
        by=by,
        thing=work,
        action="dispatched",
        after={
            "used": [asdict(row) for row in used],
            "cost": input_cost(taken, lots),
            "posting": posting,
        },
    )
    return work


@service
def return_shipment(*, by: User, conversion: Conversion, key: str, reason: str) -> Posting:
    """Take a dispatch back whole, where it was written down wrongly: all of it is stock again.

    Raises
    ------
    Refusal: no reason; ``not-a-dispatch``; or it was taken back before.
    """
    check_reason(reason)
    work = Conversion.objects.select_for_update(of=("self",), no_key=True).get(pk=conversion.pk)
    posting = work.postings.filter(kind=PostingKind.DISPATCH).first()
    if work.kind != ConversionKind.DISPATCH or posting is None:
        raise Refusal(
            "not-a-dispatch",
            f"Work {work.code} is no dispatch.",
            "Undo other work on its own page.",
        )
    return reverse_posting(by=by, posting=posting, key=key, reason=reason, work=work)
