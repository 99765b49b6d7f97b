"""What can be done where something is lacking for a dispatch."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from inventory.models import Lot, LotStatus
from planning.queries.dispatch_lots import LotVerdict
from planning.queries.dispatch_stock import Coming

_WAITING = {
    LotStatus.QUARANTINE: "release it",
    LotStatus.ON_HOLD: "decide what becomes of it",
}


def remedies(
    lots: Sequence[tuple[Lot, LotVerdict]], coming: Iterable[Coming], short: int
) -> Iterator[str]:
    """Yield what can be done with the lots that were judged, and what comes until it is enough.

    ``short`` is whole units of stock.
    """
    for lot, verdict in lots:
        if verdict.refused:
            advice = _WAITING.get(LotStatus(lot.status))
            yield f"Lot {lot.code} {verdict.refused}{f': {advice}' if advice else ''}."
        elif not verdict.ready:
            note = f", which {verdict.note}," if verdict.note else ""
            yield f"Lot {lot.code}{note} may be chosen by hand."
        if lot.stock.reserved:
            yield f"Some of lot {lot.code} is reserved for other work."
    for each in coming:
        yield each.said
        short -= each.quantity
        if short <= 0:
            break
