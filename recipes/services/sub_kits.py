"""What a kit may hold of other kits: one hop pack, and others, but never itself."""

from __future__ import annotations

from collections.abc import Iterable

from boxwort.errors import Refusal
from recipes.models import Kit, KitPart
from recipes.queries.sub_kits import (
    SubKitProblem,
    misplaced_hop_packs,
    sub_kit_problems,
    sub_kits_of,
)


def refuse_impossible_sub_kits(kit: Kit) -> None:
    """Refuse a kit, as it is written by now, for kits among its parts that cannot be there.

    Raises
    ------
    Refusal: ``hop-pack-impossible``, or ``kit-circle``.
    """
    _refuse_first(misplaced_hop_packs(kit, sub_kits_of(kit.pk)))
    _refuse_circle(kit)


def refuse_unready(kit: Kit) -> None:
    """Refuse to offer a kit whose hop pack does not fit it, or that holds one not offered.

    Raises
    ------
    Refusal: ``hop-pack-impossible``, ``hop-pack-differs``, or ``sub-kit-not-offered``.
    """
    _refuse_first(sub_kit_problems(kit, sub_kits_of(kit.pk)))


def _refuse_first(problems: Iterable[SubKitProblem]) -> None:
    for found in problems:
        raise Refusal(found.code, found.what, found.remedy)


def _refuse_circle(kit: Kit) -> None:
    """Walk down the parts of parts, one statement a level."""
    seen: set[int] = set()
    level = {kit.item_id}
    while level:
        seen |= level
        below = KitPart.objects.filter(kit__item__in=level).values_list("item", flat=True)
        if kit.item_id in (found := set(below)):
            raise Refusal(
                "kit-circle",
                f"A part of {kit} holds {kit} itself.",
                "Take the part out that leads back to it.",
            )
        level = found - seen
