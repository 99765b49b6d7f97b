"""Kits within kits: the hop pack that a kit's hops come in, and sets of kits."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from recipes.models import Contents, Kit, KitBillLine, KitPart


@dataclass(frozen=True, kw_only=True)
class SubKitRow:
    """A kit among the parts of another; ``quantity`` is how many are in one box of that.

    ``part`` says when it goes in, ``volume`` is microlitres.
    """

    kit_id: int
    item_id: int
    code: str
    name: str
    method_id: int
    volume: int
    contents: str
    offered: bool
    quantity: int
    part: str

    @property
    def is_hop_pack(self) -> bool:
        """Whether it holds hops alone, with their own weigh sheet."""
        return self.contents == Contents.HOP_PACK


@dataclass(frozen=True, kw_only=True)
class SubKitProblem:
    """Why a kit cannot be offered with what it holds: a refusal's code, what, and remedy."""

    code: str
    what: str
    remedy: str


def sub_kits_of(kit_id: int) -> tuple[SubKitRow, ...]:
    """Return the kits among a kit's parts; one statement."""
    return sub_kits_in([kit_id])[kit_id]


def sub_kits_in(kit_ids: Iterable[int]) -> dict[int, tuple[SubKitRow, ...]]:
    """Return the kits among the parts of several kits, by kit; one statement."""
    found: dict[int, tuple[SubKitRow, ...]] = dict.fromkeys(kit_ids, ())
    parts = KitPart.objects.filter(kit__in=found, item__kit__isnull=False)
    for part in parts.select_related("item__kit").order_by("pk"):
        found[part.kit_id] = (*found[part.kit_id], _row(part))
    return found


def hop_pack_of(kit_id: int) -> SubKitRow | None:
    """Return the hop pack that a kit's hops come in; None where it holds them itself."""
    return hop_pack_among(sub_kits_of(kit_id))


def hop_pack_among(sub_kits: Iterable[SubKitRow]) -> SubKitRow | None:
    """Return the hop pack among these; a kit has at most one."""
    return next((row for row in sub_kits if row.is_hop_pack), None)


def misplaced_hop_packs(kit: Kit, sub_kits: Iterable[SubKitRow]) -> Iterator[SubKitProblem]:
    """Yield hop packs that cannot be where they are: in one another, or more than one in a kit."""
    packs = [row for row in sub_kits if row.is_hop_pack]
    if packs and kit.contents == Contents.HOP_PACK:
        yield SubKitProblem(
            code="hop-pack-impossible",
            what=f"{kit} is a hop pack and cannot hold another, {packs[0].name}.",
            remedy="Take that one out of its parts.",
        )
    elif len(packs) > 1 or any(row.quantity != 1 for row in packs):
        named = ", ".join(row.name for row in packs)
        yield SubKitProblem(
            code="hop-pack-impossible",
            what=f"{kit} would hold more than one hop pack: {named}.",
            remedy="All its hops come in one hop pack: put in one, once.",
        )


def sub_kit_problems(kit: Kit, sub_kits: Sequence[SubKitRow]) -> Iterator[SubKitProblem]:
    """Yield what keeps a kit from being offered with the kits it holds."""
    yield from misplaced_hop_packs(kit, sub_kits)
    for row in sub_kits:
        same = (row.method_id, row.volume) == (kit.method_id, kit.volume)
        if row.is_hop_pack and not same:
            yield SubKitProblem(
                code="hop-pack-differs",
                what=f"{row.name} ({row.code}) is a hop pack of another method or volume, so its "
                f"hops are not those of {kit}.",
                remedy="Put in a hop pack of the same method and volume, or none.",
            )
        if not row.offered:
            yield SubKitProblem(
                code="sub-kit-not-offered",
                what=f"{row.name} ({row.code}), which it holds, is not offered.",
                remedy="Offer that first, so that its bill is frozen.",
            )


def goods_within(item_ids: Iterable[int]) -> set[int]:
    """Return these items and all that is on the frozen bills of those that are kits.

    One statement for each level of kits within kits, and one that finds no more.
    """
    known = set(item_ids)
    level = known
    while level:
        rows = KitBillLine.objects.filter(kit__item__in=level).values_list("item", flat=True)
        level = set(rows) - known
        known |= level
    return known


def _row(part: KitPart) -> SubKitRow:
    kit = part.item.kit
    return SubKitRow(
        kit_id=kit.pk,
        item_id=part.item_id,
        code=part.item.code,
        name=part.item.name,
        method_id=kit.method_id,
        volume=kit.volume,
        contents=kit.contents,
        offered=kit.offered,
        quantity=part.quantity,
        part=part.part,
    )
