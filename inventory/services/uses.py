"""Work that uses lots up and makes none of them: trial brews, and what leaves for a customer."""

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
def use_lots_up(
    *,
    by: User,
    kind: ConversionKind,
    used: Sequence[Used],
    occurred_on: date,
    reason: str,
    key: str,
    posted_as: PostingKind = PostingKind.CONVERSION,
    to: PlaceKind = PlaceKind.PRODUCTION,
) -> Conversion:
    """Post what a piece of work takes; the same key again returns the same work.

    What it cost, the shares of what its lots cost, stands in its history.

    Raises
    ------
    Refusal: ``nothing-used``, or what the ledger refuses: a lot that is not released, is expired,
        or of which not so much is here or free.
    """
    work, posting, again = begin_work(
        by=by,
        kind=kind,
        occurred_on=occurred_on,
        key=key,
        asked={"used": [asdict(row) for row in used]},
        reason=reason,
        posted_as=posted_as,
    )
    if again:
        return work
    taken = taken_of(used)
    lots = lock_lots(taken)
    write_moves(posting, moves_in(taken, lots, to=to), lots)
    work.state = ConversionState.DONE
    work.save(update_fields=["state"])
    write_history(
        by=by,
        thing=work,
        action="done",
        after={
            "used": [asdict(row) for row in used],
            "cost": input_cost(taken, lots),
            "posting": posting,
        },
    )
    return work


@service
def take_use_back(
    *,
    by: User,
    conversion: Conversion,
    kind: ConversionKind,
    posted_as: PostingKind,
    key: str,
    reason: str,
    other_work: Refusal,
) -> Posting:
    """Take the use of lots back, where it was written down wrongly: all of it is stock again.

    Raises
    ------
    Refusal: no reason; ``other_work`` where it is work of another kind; or it was taken back
        before.
    """
    check_reason(reason)
    work = Conversion.objects.select_for_update(of=("self",), no_key=True).get(pk=conversion.pk)
    posting = work.postings.filter(kind=posted_as).first()
    if work.kind != kind or posting is None:
        raise other_work
    return reverse_posting(by=by, posting=posting, key=key, reason=reason, work=work)
