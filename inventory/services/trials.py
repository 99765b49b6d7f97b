"""Stock that trial batches are brewed from: it is used up, and no lot is made of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from datetime import date

from boxwort.accounts.models import User
from boxwort.accounts.services import service, write_history
from boxwort.errors import Refusal
from inventory.models import Conversion, ConversionKind, ConversionState, Posting, PostingKind
from inventory.services.balances import lock_lots
from inventory.services.conversions import Used, input_cost, moves_in, taken_of
from inventory.services.entries import check_reason
from inventory.services.ledger import reverse_posting, write_moves
from inventory.services.works import begin_work


@service
def use_for_trial(
    *, by: User, trial: str, used: Sequence[Used], occurred_on: date, key: str
) -> Conversion:
    """Post what a trial batch was brewed from; the same key again returns the same work.

    What it cost, the shares of what its lots cost, stands in its history. Everything must be
    released, not expired and not reserved for other work.

    Raises
    ------
    Refusal: ``nothing-used``, or what the ledger refuses.
    """
    work, posting, again = begin_work(
        by=by,
        kind=ConversionKind.TRIAL,
        occurred_on=occurred_on,
        key=key,
        asked={"used": [asdict(row) for row in used]},
        reason=f"Trial {trial}",
    )
    if again:
        return work
    taken = taken_of(used)
    lots = lock_lots(taken)
    write_moves(posting, moves_in(taken, lots), lots)
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
def return_from_trial(*, by: User, conversion: Conversion, key: str, reason: str) -> Posting:
    """Take the use of stock by a trial back, where it was written down wrongly.

    Raises
    ------
    Refusal: no reason; ``not-a-trial``; or it was taken back before.
    """
    check_reason(reason)
    work = Conversion.objects.select_for_update(of=("self",), no_key=True).get(pk=conversion.pk)
    posting = work.postings.filter(kind=PostingKind.CONVERSION).first()
    if work.kind != ConversionKind.TRIAL or posting is None:
        raise Refusal(
            "not-a-trial",
            f"Work {work.code} is no trial that used stock.",
            "Undo other work on its own page.",
        )
    return reverse_posting(by=by, posting=posting, key=key, reason=reason, work=work)
