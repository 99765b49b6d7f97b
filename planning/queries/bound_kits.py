"""The part of a run line's kit that is bound to particular lots, as the engine sees it."""

from __future__ import annotations

from planning.engine.kit_sheet import BoundKit
from planning.queries.supply import House, KitNeeds, hop_line, own_target
from recipes.models import Kit


def bound_kit(kit: Kit, needs: KitNeeds, rules: House) -> BoundKit:
    """Return what a kit takes of hops and packed yeast, balanced by the house rules."""
    return BoundKit(
        target_ibu=own_target(kit, needs),
        hop_lines=[hop_line(row) for row in needs.hops],
        bound_items={needs.yeast.item_code: needs.yeast.packed} if needs.yeast else {},
        resolution_mg=rules.resolution_mg,
        overage=needs.overage,
        most=rules.most,
        division_mg=rules.division_mg,
    )
