"""Items as people read them: what they are, what is in stock, what specifies them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Count, Q, QuerySet, Sum
from django.forms.models import model_to_dict
from django.utils import timezone

from inventory.models import Item, LotStatus


@dataclass(frozen=True, kw_only=True)
class ItemRow:
    """An item with its stock over all lots, in whole units of ``measure``.

    ``usable`` is what a plan may take: on hand and not reserved, of released, unexpired lots.
    ``specification`` holds the fields of its malt, hop or yeast specification, if it has one.
    ``crushed_days`` and ``opened_days`` are how long it keeps then, ``work_loss`` is the share that
    repacking, milling or blending usually loses. How it is ordered, from ``lot_rule`` to
    ``quarantine_days``, is as of :class:`inventory.services.order_rules.OrderRules`.
    """

    id: int
    code: str
    name: str
    kind: str
    measure: str
    overage: float
    safety_stock: int
    shelf_days: int | None
    crushed_days: int | None
    opened_days: int | None
    work_loss: float
    container_quantity: int | None
    lot_rule: str
    lot_rule_words: str
    fixed_quantity: int | None
    period_days: int | None
    order_cost: int
    quarantine_days: int
    allergens: tuple[str, ...]
    notes: str
    active: bool
    version: int
    lots: int
    on_hand: int
    reserved: int
    usable: int
    specification: Mapping[str, Any]


def any_item() -> bool:
    """Return whether the catalogue holds anything yet."""
    return Item.objects.exists()


def item_rows(
    *, on: date | None = None, text: str = "", kind: str = "", active_only: bool = False
) -> list[ItemRow]:
    """Return the items that fit, in the order of their codes; one statement.

    Parameters
    ----------
    on: the day on which expiry is judged; today in the site's time zone unless given.
    text: a part of the code or the name.
    """
    items = Item.objects.all()
    if text:
        items = items.filter(Q(code__icontains=text) | Q(name__icontains=text))
    if kind:
        items = items.filter(kind=kind)
    if active_only:
        items = items.filter(active=True)
    return _rows(items, on or timezone.localdate())


def item_row(item_id: int, *, on: date | None = None) -> ItemRow | None:
    """Return one item, or None where there is none with this number."""
    rows = _rows(Item.objects.filter(pk=item_id), on or timezone.localdate())
    return rows[0] if rows else None


def _rows(items: QuerySet[Item], on: date) -> list[ItemRow]:
    good = Q(lots__status=LotStatus.RELEASED) & (
        Q(lots__best_before_on__isnull=True) | Q(lots__best_before_on__gte=on)
    )
    found = (
        items.select_related("malt", "hop", "yeast")
        .annotate(
            lot_count=Count("lots"),
            on_hand=Sum("lots__stock__on_hand", default=0),
            reserved=Sum("lots__stock__reserved", default=0),
            good_on_hand=Sum("lots__stock__on_hand", filter=good, default=0),
            good_reserved=Sum("lots__stock__reserved", filter=good, default=0),
        )
        .order_by("code")
    )
    return [_row(item) for item in found]


def _row(item: Any) -> ItemRow:
    """Return the row of an item annotated with its totals (PostgreSQL sums to decimals)."""
    return ItemRow(
        id=item.pk,
        code=item.code,
        name=item.name,
        kind=item.kind,
        measure=item.measure,
        overage=item.overage,
        safety_stock=item.safety_stock,
        shelf_days=item.shelf_days,
        crushed_days=item.crushed_days,
        opened_days=item.opened_days,
        work_loss=item.work_loss,
        container_quantity=item.container_quantity,
        lot_rule=item.lot_rule,
        lot_rule_words=item.get_lot_rule_display(),
        fixed_quantity=item.fixed_quantity,
        period_days=item.period_days,
        order_cost=item.order_cost,
        quarantine_days=item.quarantine_days,
        allergens=tuple(item.allergens),
        notes=item.notes,
        active=item.active,
        version=item.version,
        lots=item.lot_count,
        on_hand=int(item.on_hand),
        reserved=int(item.reserved),
        usable=int(item.good_on_hand) - int(item.good_reserved),
        specification=_specification(item),
    )


def _specification(item: Item) -> dict[str, Any]:
    for name in ("malt", "hop", "yeast"):
        specification = getattr(item, name, None)
        if specification is not None:
            return model_to_dict(specification, exclude=["id", "item"])
    return {}
