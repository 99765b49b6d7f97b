"""The kits a run may pack, each with its yeasts and what is wanted of it soon."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from planning.queries.demand import demand_grid
from recipes.models import Kit, KitBillLine
from recipes.models.recipes import RevisionState

WEEKS_AHEAD = 4


@dataclass(frozen=True, kw_only=True)
class KitChoice:
    """An offered kit; ``yeasts`` are item id and name, the usual one first.

    ``wanted`` is the demand for it in the next four weeks, in kits.
    """

    kit: Kit
    yeasts: tuple[tuple[int, str], ...]
    wanted: int


def kit_choices(on: date, *, also: Collection[int] = ()) -> list[KitChoice]:
    """Return what can be packed, by code; ``also`` names kits of a run whose revision retired."""
    kits = Kit.objects.filter(offered=True).select_related("item", "method__revision")
    live = [
        kit
        for kit in kits.order_by("item__code")
        if kit.pk in also or kit.method.revision.state == RevisionState.OFFERED
    ]
    yeasts: dict[int, list[tuple[int, str]]] = {kit.pk: [] for kit in live}
    options = KitBillLine.objects.filter(kit__in=live, is_yeast_option=True)
    for kit_id, item_id, name in options.order_by("kit", "position").values_list(
        "kit", "item", "item__name"
    ):
        yeasts[kit_id].append((item_id, name))
    wanted = {row.kit_id: row.kits for row in demand_grid(on, weeks=WEEKS_AHEAD).rows}
    return [
        KitChoice(kit=kit, yeasts=tuple(yeasts[kit.pk]), wanted=wanted.get(kit.pk, 0))
        for kit in live
    ]
