"""How reservations begin and end inside a service that holds its lots (``lock_lots``).

Each ends once and never reopens; the reserved total of its lot changes in the same breath.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.accounts.services import write_history
from inventory import events
from inventory.models import Conversion, Ending, Lot, LotStock, Reservation
from inventory.services.balances import Lots, lock_lots, shift_reserved


def open_reservations(
    conversion: Conversion, *, also: Iterable[int] = ()
) -> tuple[list[Reservation], Lots]:
    """Return what is open for held work, its lots held first, and other lots with them.

    A count may end reservations of a lot until that lot is held; so they are read after.
    """
    rows = Reservation.objects.filter(conversion=conversion, ended_at__isnull=True)
    lots = lock_lots({*rows.values_list("lot_id", flat=True), *also})
    return list(rows.order_by("pk")), lots


def end_reservations(reservations: Sequence[Reservation], lots: Lots, ending: Ending) -> None:
    """End open reservations of lots that are held, and give their stock back to the lots."""
    now = timezone.now()
    Reservation.objects.filter(pk__in=[row.pk for row in reservations]).update(
        ended_at=now, ending=ending
    )
    freed: dict[int, int] = defaultdict(int)
    for row in reservations:
        row.ended_at, row.ending = now, ending
        freed[row.lot_id] += row.quantity
    for lot_id, quantity in sorted(freed.items()):
        shift_reserved(lots[lot_id], -quantity)


def lose_reservations(*, by: User, lot: Lot, most: int) -> list[Reservation]:
    """End reservations of a held lot, latest need first, until at most ``most`` is reserved."""
    reserved = LotStock.objects.get(lot=lot).reserved
    lost = []
    latest_first = Reservation.objects.filter(lot=lot, ended_at__isnull=True).select_related(
        "conversion"
    )
    for row in latest_first.order_by("-needed_on", "-pk"):
        if reserved <= most:
            break
        lost.append(row)
        reserved -= row.quantity
    end_reservations(lost, {lot.pk: lot}, Ending.LOST)
    for conversion, rows in _by_conversion(lost).items():
        write_history(
            by=by, thing=conversion, action="lost-reservations", before=reserved_facts(rows)
        )
    return lost


def tell_lost(*, by: User, lot: Lot, lost: Sequence[Reservation]) -> None:
    """Let other apps hear which work lost stock, if any did."""
    if lost:
        ids = sorted({row.conversion_id for row in lost})
        events.reservations_lost.send(sender=Reservation, conversion_ids=ids, lot_id=lot.pk, by=by)


def reserved_facts(reservations: Iterable[Reservation]) -> dict[str, object]:
    """Return reservations as plain values for a history row."""
    return {
        "reservations": [
            {
                "id": row.pk,
                "line": row.line,
                "lot": row.lot_id,
                "quantity": row.quantity,
                "needed_on": row.needed_on,
            }
            for row in reservations
        ]
    }


def _by_conversion(rows: Iterable[Reservation]) -> dict[Conversion, list[Reservation]]:
    grouped: dict[Conversion, list[Reservation]] = defaultdict(list)
    for row in rows:
        grouped[row.conversion].append(row)
    return grouped
