"""Kits: a method at a size, with its parts; offering a kit freezes its bill."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

from boxwort.accounts.models import User
from boxwort.accounts.services import change_version, service, write_history
from boxwort.errors import Refusal
from boxwort.figures import share
from inventory.models import Item, ItemKind
from recipes.models import (
    Contents,
    Kit,
    KitBillLine,
    KitBillSubstitute,
    KitPart,
    Method,
    Part,
    RevisionState,
)
from recipes.queries.bills import BillRow, SubstituteRow
from recipes.queries.figures import plain_figures
from recipes.queries.kit_designs import kit_design
from recipes.services.pack_rules import PackRules
from recipes.services.sub_kits import refuse_impossible_sub_kits, refuse_unready

_CHANGES_WHEN_OFFERED = {
    *("price", "shelf_days", "target_share", "floor_share"),
    *(field.name for field in fields(PackRules)),
}
_MOST_PITCH = 5.0


@dataclass(frozen=True, kw_only=True)
class PartFacts:
    """Something in the box beside the lines: how much, in units of stock, and when it goes in."""

    item: Item
    quantity: int
    part: Part = Part.PACKED


@service
def write_kit(
    *,
    by: User,
    item: Item,
    method: Method,
    volume: int,
    shelf_days: int,
    yeast_part: Part = Part.DISPATCH,
    grain_part: Part = Part.PACKED,
    contents: Contents = Contents.KIT,
    price: int = 0,
    target_share: float | None = None,
    floor_share: float | None = None,
    rules: PackRules | None = None,
    parts: Sequence[PartFacts] = (),
    expected: int | None = None,
) -> Kit:
    """Write a new kit, or change the one that is sold as this item.

    ``volume`` is microlitres of beer, ``shelf_days`` the allowance from packing to brew day,
    ``price`` ten-thousandths of the currency. ``target_share`` and ``floor_share`` of the pitch
    stand in place of the strain's; give both or neither. A hop pack among the ``parts`` takes the
    place of the kit's own hops. Without ``rules`` a kit keeps those it has. Of an offered kit only
    the price, the allowance, the pitch and the rules may change. Writing what already stands
    changes nothing.

    Raises
    ------
    Refusal: ``not-a-kit``, ``volume-missing``, ``part-impossible``, ``hop-pack-impossible``,
        ``kit-circle``, ``pitch-impossible``, ``pack-rules-impossible``, ``kit-offered``, or
        ``changed-by-someone-else``.
    """
    _refuse_impossible(item, volume, parts)
    _refuse_impossible_pitch(item, target_share, floor_share)
    said: dict[str, Any] = {
        "method": method,
        "volume": volume,
        "shelf_days": shelf_days,
        "yeast_part": yeast_part,
        "grain_part": grain_part,
        "contents": contents,
        "price": price,
        "target_share": target_share,
        "floor_share": floor_share,
    }
    if rules is not None:
        rules.refuse_impossible()
        said |= rules.as_said()
    kit = Kit.objects.select_related("item", "method").filter(item=item).first()
    if kit is None:
        kit = Kit.objects.create(item=item, **said)
        _write_parts(kit, parts)
        refuse_impossible_sub_kits(kit)
        write_history(by=by, thing=kit, action="write-kit", after=said | _parts(parts))
        return kit
    changes = {name: value for name, value in said.items() if getattr(kit, name) != value}
    if parts_change := _parts(parts) != _standing_parts(kit):
        _refuse_offered(kit)
    if changes.keys() - _CHANGES_WHEN_OFFERED:
        _refuse_offered(kit)
    if changes or parts_change:
        started = kit.version if expected is None else expected
        change_version(by=by, thing=kit, expected=started, action="write-kit", changes=changes)
    if parts_change:
        _rewrite_parts(by, kit, parts)
    if parts_change or "contents" in changes:
        refuse_impossible_sub_kits(kit)
    return kit


@service
def offer_kit(*, by: User, kit: Kit, expected: int) -> Kit:
    """Freeze a kit's bill, its substitutes, figures and target IBU, and offer it.

    Raises
    ------
    Refusal: ``kit-offered`` when it already is; ``revision-not-offered``; ``hop-pack-differs`` or
        ``sub-kit-not-offered`` for what it holds; ``size-impossible``;
        ``changed-by-someone-else``.
    """
    _refuse_offered(Kit.objects.select_for_update().get(pk=kit.pk))
    revision = kit.method.revision
    if revision.state != RevisionState.OFFERED:
        raise Refusal(
            "revision-not-offered",
            f"{revision} is {revision.get_state_display().lower()}, so no kit of it is offered.",
            "Offer the revision first.",
        )
    refuse_unready(kit)
    design = kit_design(kit.pk)
    change_version(
        by=by,
        thing=kit,
        expected=expected,
        action="offer-kit",
        changes={
            "offered": True,
            "target_ibu": design.target_ibu,
            "figures": plain_figures(design.figures),
        },
    )
    lines = KitBillLine.objects.bulk_create(_bill_line(kit, row) for row in design.rows)
    KitBillSubstitute.objects.bulk_create(
        _bill_substitute(line, row)
        for line in lines
        for row in design.substitutes.get(line.key, ())
    )
    return kit


def _bill_line(kit: Kit, row: BillRow) -> KitBillLine:
    return KitBillLine(
        kit=kit,
        key=row.key,
        position=row.position,
        item_id=row.item_id,
        line_id=row.line_id,
        use=row.use,
        minutes=row.minutes,
        part=row.part,
        exact=row.exact,
        packed=row.packed,
        reason=row.reason,
        overage=row.overage,
        role=row.role,
        reference_alpha=row.reference_alpha,
        ibu_per_gram=row.ibu_per_gram,
        minutes_table=[list(pair) for pair in row.minutes_table],
        is_yeast_option=row.is_yeast_option,
    )


def _bill_substitute(line: KitBillLine, row: SubstituteRow) -> KitBillSubstitute:
    return KitBillSubstitute(
        bill_line=line,
        item_id=row.item_id,
        ratio=row.ratio,
        exact=row.exact,
        packed=row.packed,
        reason=row.reason,
        overage=row.overage,
        reference_alpha=row.reference_alpha,
        ibu_per_gram=row.ibu_per_gram,
        minutes_table=[list(pair) for pair in row.minutes_table],
        note=row.note,
        approved_by_id=row.approved_by_id,
        figures=plain_figures(row.figures),
    )


def _parts(parts: Sequence[PartFacts]) -> dict[str, Any]:
    return {"parts": sorted([part.item.code, part.quantity, part.part] for part in parts)}


def _standing_parts(kit: Kit) -> dict[str, Any]:
    rows = kit.parts.values_list("item__code", "quantity", "part")
    return {"parts": sorted(list(row) for row in rows)}


def _write_parts(kit: Kit, parts: Sequence[PartFacts]) -> None:
    KitPart.objects.bulk_create(
        KitPart(kit=kit, item=part.item, quantity=part.quantity, part=part.part) for part in parts
    )


def _rewrite_parts(by: User, kit: Kit, parts: Sequence[PartFacts]) -> None:
    before = _standing_parts(kit)
    kit.parts.all().delete()
    _write_parts(kit, parts)
    write_history(by=by, thing=kit, action="write-parts", before=before, after=_parts(parts))


def _refuse_offered(kit: Kit) -> None:
    if kit.offered:
        raise Refusal(
            "kit-offered",
            f"{kit} is offered, and its bill is frozen.",
            "Write a kit with a code of its own for the change; price, shelf allowance, pitch "
            "target and floor, and when and how many are packed, may still change.",
        )


def _refuse_impossible_pitch(item: Item, target: float | None, floor: float | None) -> None:
    if target is None and floor is None:
        return
    if target is None or floor is None or not 0 < floor <= target <= _MOST_PITCH:
        raise Refusal(
            "pitch-impossible",
            f"The pitch of {item} has no target and floor that a kit could mean.",
            f"Give both, the floor above zero and not above the target, the target at most "
            f"{share(_MOST_PITCH, 0)}; or neither, to go by its strain's.",
        )


def _refuse_impossible(item: Item, volume: int, parts: Sequence[PartFacts]) -> None:
    if item.kind != ItemKind.KIT:
        raise Refusal(
            "not-a-kit",
            f"{item} is not a kit.",
            "Write an item of the kind kit for it, and use that.",
        )
    if volume <= 0:
        raise Refusal("volume-missing", f"{item} has no volume.", "Give the litres it makes.")
    named = [(part.item.pk, part.part) for part in parts]
    if len(set(named)) < len(named) or any(p.quantity <= 0 or p.item == item for p in parts):
        raise Refusal(
            "part-impossible",
            f"A part of {item} is named twice, has no amount, or is the kit itself.",
            "Name each part once with an amount above zero.",
        )
