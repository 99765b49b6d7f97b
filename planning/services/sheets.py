"""Issuing and voiding the sheet a batch is weighed by."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.accounts.queries import site_settings
from boxwort.accounts.services import fingerprint, plain, service, write_history
from planning.engine.balance import Balance
from planning.models import Allocation, Batch, SheetRevision
from planning.queries.batches import current_allocations
from planning.queries.best_before import best_before_of
from planning.queries.chosen_substitutes import chosen_substitutes, in_the_box
from planning.queries.dispatch_yeast import dispatch_notes
from planning.queries.pitches import yeast_advice
from planning.queries.sheet_brewing import brewing_content, hop_pack_content
from recipes.brewing.figures import Figures
from recipes.models import Kit, Part
from recipes.queries.bills import BillRow, bill_of
from recipes.queries.figures import kept_figures
from recipes.queries.kit_designs import figures_with
from recipes.queries.kits import allergens_of


@service
def issue_sheet(*, by: User, batch: Batch, balance: Balance) -> SheetRevision:
    """Issue the next sheet of a batch from what is allocated to it now.

    The content is canonical JSON; its digest chains to the sheet before it, so that a sheet
    changed later, even by the owner of the database, no longer fits its chain.
    """
    earlier = batch.sheets.order_by("-number").first()
    number = earlier.number + 1 if earlier else 1
    content = plain(_content(batch, balance, number))
    previous = earlier.digest if earlier else ""
    sheet = SheetRevision.objects.create(
        batch=batch,
        number=number,
        content=content,
        previous_digest=previous,
        digest=fingerprint({"content": content, "previous": previous}),
        issued_by=by,
    )
    write_history(by=by, thing=sheet, action="issue sheet", after={"digest": sheet.digest})
    return sheet


@service
def void_sheet(*, by: User, batch: Batch, reason: str) -> None:
    """Void the open sheet of a batch, if it has one."""
    for sheet in batch.sheets.filter(voided_at__isnull=True):
        sheet.voided_at = timezone.now()
        sheet.void_reason = reason
        sheet.save(update_fields=["voided_at", "void_reason"])
        write_history(by=by, thing=sheet, action="void sheet", after={"reason": reason})


def _content(batch: Batch, balance: Balance, number: int) -> dict[str, Any]:
    line = batch.run_line
    kit = line.kit
    method = kit.method
    site = site_settings()
    chosen = chosen_substitutes([line])[line.pk]
    bill = in_the_box(bill_of(kit.pk), line.yeast_id, chosen)
    taken: dict[str, list[Allocation]] = {}
    for row in current_allocations([batch.pk]):
        taken.setdefault(row.bill_line.key, []).append(row)
    used = {row.key: chosen[row.key] for row in bill if row.substitute_id}
    designed = figures_with(kit.pk, used) if used else kept_figures(kit.figures)
    yeast = next((row for row in bill if row.is_yeast_option), None)
    dated = best_before_of([batch.pk])[batch.pk]
    lines = [
        {
            **_line(row, taken.get(row.key, []), batch.kits, balance),
            "approved_by": used[row.key].approved_by if row.key in used else "",
        }
        for row in bill
    ]
    hop_pack = hop_pack_content(kit, lines)
    boxed = [replace(row, packed=line["per_kit"]) for row, line in zip(bill, lines, strict=True)]
    return {
        "batch": batch.code,
        "run": line.run.code,
        "kit": {"code": kit.item.code, "name": kit.item.name},
        "contents": kit.contents,
        "hop_pack": hop_pack,
        "recipe": {
            "name": method.revision.recipe.name,
            "style": method.revision.recipe.style,
            "revision": method.revision.number,
        },
        "method": method.kind,
        "method_name": method.get_kind_display(),
        "kits": batch.kits,
        "pack_on": line.run.pack_on,
        "brew_on": batch.brew_on,
        "best_before": {
            "on": dated.day,
            "set_by": f"{dated.set_by.name}: {dated.set_by.reason}" if dated.set_by else "",
        },
        "sheet": number,
        "volume_ul": kit.volume,
        "pre_boil_volume_ul": _scaled(method.pre_boil_volume, kit.volume, method.finished_volume),
        "post_boil_volume_ul": _scaled(method.post_boil_volume, kit.volume, method.finished_volume),
        "boil_minutes": method.boil_minutes,
        "mash_temperature_c": method.mash_temperature_c,
        "ferment_temperature_c": method.ferment_temperature_c,
        "steps": method.steps,
        "steps_volume_ul": method.finished_volume,
        "producer": site.producer,
        "lines": lines,
        **brewing_content(kit, boxed),
        "working": None if hop_pack else balance.working.as_json(),
        "figures": _figures(designed) | _bitterness(kit, balance, in_hop_pack=bool(hop_pack)),
        "allergens": allergens_of([row.item_id for row in bill]),
        "yeast": (
            {
                "code": yeast.item_code,
                "name": yeast.item_name,
                "packs": yeast.packed,
                **yeast_advice(batch, taken.get(yeast.key, [])),
                "at_dispatch": dispatch_notes([line], line.run.pack_on)[0],
            }
            if yeast
            else None
        ),
        "tolerance_mg": site.pouch_resolution_mg // 2,
        "division_mg": site.scale_division_mg,
    }


def _scaled(volume: int, to: int, of: int) -> int:
    """Return a kettle volume of the method at the kit's size, in whole microlitres."""
    return (volume * to + of // 2) // of


def _line(row: BillRow, taken: list[Allocation], kits: int, balance: Balance) -> dict[str, Any]:
    """Return a line; a hop that the balance brought to nothing is allotted no lot."""
    per_kit = taken[0].per_kit if taken else balance.weights.get(row.key, row.packed)
    minutes = balance.minutes.get(row.key, row.minutes)
    return {
        "key": row.key,
        "item_code": row.item_code,
        "item_name": row.item_name,
        "kind": row.item_kind,
        "measure": row.measure,
        "use": row.use,
        "minutes": minutes,
        "recipe_minutes": row.minutes,
        "part": row.part,
        "per_kit": per_kit,
        "total": per_kit * kits,
        "role": row.role,
        "alpha": taken[0].alpha if taken else None,
        "reference": row.packed,
        "lots": [
            {
                "code": take.lot.code,
                "quantity": take.quantity,
                "best_before_on": take.lot.best_before_on,
            }
            for take in taken
        ],
        "reason": row.reason,
        "stands_for": row.stands_for,
        "at_dispatch": row.part == Part.DISPATCH,
    }


def _figures(designed: Figures) -> dict[str, float]:
    known = {name: getattr(designed, name) for name in ("og", "fg", "abv", "srm")}
    return {name: figure.value for name, figure in known.items() if figure}


def _bitterness(kit: Kit, balance: Balance, *, in_hop_pack: bool) -> dict[str, float]:
    """Return what the hops give, in IBU; those in a hop pack give the target, by its own sheet."""
    if in_hop_pack:
        target = kit.target_ibu or 0.0
        return {"ibu": target, "ibu_target": target, "ibu_spread": 0.0}
    return {
        "ibu": balance.ibu_corrected,
        "ibu_target": balance.ibu_target,
        "ibu_spread": balance.spread_ibu,
    }
