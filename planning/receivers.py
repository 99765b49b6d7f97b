"""What planning hears of the stock room. A receiver only asks for a job."""

from __future__ import annotations

from typing import Any

from django.dispatch import receiver

from boxwort.accounts.models import User
from inventory.events import lot_analysed, lot_moved, lot_released, reservations_lost
from inventory.models import AnalysisKind, ItemKind, Lot
from inventory.models.analyses import ALPHA_KINDS
from planning.queries.rebalancing import kits_in_trouble, kits_touched, kits_with_conversions
from planning.services.proposing import ask_rebalance


@receiver(lot_analysed, dispatch_uid="planning.lot_analysed")
def rebalance_after_analysis(*, lot_id: int, kind: str, by: User, **_: Any) -> None:
    """Ask for new weights where a reserved batch holds the lot whose alpha acid may be another."""
    lot = Lot.objects.select_related("item").get(pk=lot_id)
    if kind in ALPHA_KINDS and lot.item.kind == ItemKind.HOP:
        ask_rebalance(
            by=by,
            kit_ids=kits_touched(lot_id=lot_id),
            cause=f"new {AnalysisKind(kind).label.lower()} analysis of lot {lot.code}",
        )


@receiver(lot_moved, dispatch_uid="planning.lot_moved")
def rebalance_after_move(*, lot_id: int, by: User, **_: Any) -> None:
    """Ask for new weights where a reserved batch holds a hop that ages differently from now on."""
    lot = Lot.objects.select_related("item").get(pk=lot_id)
    if lot.item.kind == ItemKind.HOP:
        ask_rebalance(
            by=by,
            kit_ids=kits_touched(lot_id=lot_id),
            cause=f"lot {lot.code} lies in another place, and ages differently there",
        )


@receiver(lot_released, dispatch_uid="planning.lot_released")
def rebalance_after_release(*, lot_id: int, by: User, **_: Any) -> None:
    """Ask for batches of the item that are short, on hold or expire: this lot may help them."""
    lot = Lot.objects.only("code", "item_id").get(pk=lot_id)
    ask_rebalance(
        by=by,
        kit_ids=kits_in_trouble(item_id=lot.item_id),
        cause=f"lot {lot.code} was released",
    )


@receiver(reservations_lost, dispatch_uid="planning.reservations_lost")
def rebalance_after_loss(*, conversion_ids: list[int], lot_id: int, by: User, **_: Any) -> None:
    """Ask for another lot where a count or rejection took a batch's own."""
    ask_rebalance(
        by=by,
        kit_ids=kits_with_conversions(conversion_ids),
        cause=f"lot {_code(lot_id)} was counted short or rejected",
    )


def _code(lot_id: int) -> str:
    return Lot.objects.values_list("code", flat=True).get(pk=lot_id)
