"""What can be done where something is lacking for a dispatch."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from inventory.models import Lot, LotStatus
from planning.queries.dispatch_lots import LotVerdict

_WAITING = {
    LotStatus.QUARANTINE: "release it",
    LotStatus.ON_HOLD: "decide what becomes of it",
}


def remedies(lots: Sequence[tuple[Lot, LotVerdict]], coming: Iterable[str]) -> Iterator[str]:
    """Yield what can be done with the lots that were judged, and what is still to come."""
    for lot, verdict in lots:
        if verdict.refused:
            advice = _WAITING.get(LotStatus(lot.status))
            yield f"Lot {lot.code} {verdict.refused}{f': {advice}' if advice else ''}."
        elif not verdict.ready:
            note = f", which {verdict.note}," if verdict.note else ""
            yield f"Lot {lot.code}{note} may be chosen by hand."
        if lot.stock.reserved:
            yield f"Some of lot {lot.code} is reserved for other work."
    yield from coming
