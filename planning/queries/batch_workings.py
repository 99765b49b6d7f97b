"""Every figure of a batch that can show its working."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from boxwort.accounts.queries import site_settings
from boxwort.working import Working
from inventory.models import ItemKind
from inventory.queries.hops import hop_alphas
from inventory.queries.yeasts import journey, yeast_lives
from planning.models import Allocation, Batch
from planning.queries.batch_figures import BatchFigures, batch_figures
from planning.queries.batches import current_allocations, frozen_row
from planning.queries.best_before import best_before_of
from planning.queries.pitches import pitch_of
from planning.queries.supply import house


@dataclass(frozen=True, kw_only=True)
class BatchWorkings:
    """The figures of one batch.

    Attributes
    ----------
    sheet_number: of the newest sheet, from which ``balance`` and ``brew_day`` are; None without.
    balance: its bitterness after balancing; empty where the sheet does not keep it.
    alphas, yeast, best_before: by what is known of its lots today.
    beer: from its lots, beside the design.
    """

    batch_id: int
    code: str
    run_code: str
    kit_name: str
    kits: int
    sheet_number: int | None
    balance: tuple[Working, ...]
    alphas: tuple[Working, ...]
    beer: BatchFigures
    yeast: tuple[Working, ...]
    best_before: tuple[Working, ...]
    brew_day: tuple[Working, ...]


def batch_workings(batch_id: int) -> BatchWorkings:
    """Return the figures of a batch.

    Raises
    ------
    Batch.DoesNotExist: there is no such batch.
    """
    batch = Batch.objects.select_related("run_line__run", "run_line__kit__item").get(pk=batch_id)
    sheet = batch.sheets.order_by("-number").first()
    content: Mapping[str, Any] = sheet.content if sheet else {}
    rows = current_allocations([batch.pk])
    pack_on = batch.run_line.run.pack_on
    dated = best_before_of([batch.pk], pack_on)[batch.pk].working(pack_on)
    return BatchWorkings(
        batch_id=batch.pk,
        code=batch.code,
        run_code=batch.run_line.run.code,
        kit_name=batch.run_line.kit.item.name,
        kits=batch.kits,
        sheet_number=sheet.number if sheet else None,
        balance=(Working.from_json(content["working"]),) if content.get("working") else (),
        alphas=tuple(_alphas(rows, pack_on, batch.brew_on)),
        beer=batch_figures([batch.pk])[batch.pk],
        yeast=tuple(_pitches(rows, pack_on, batch.brew_on)),
        best_before=(dated,) if dated else (),
        brew_day=tuple(_kept(content.get("brew_day", {}))),
    )


def _alphas(rows: list[Allocation], pack_on: date, brew_on: date) -> Iterator[Working]:
    lots = {row.lot_id: row.lot for row in rows if row.lot.item.kind == ItemKind.HOP}
    alphas = hop_alphas(lots, pack_on=pack_on, brew_on=brew_on, pouch=house().pouch)
    for lot_id, alpha in alphas.items():
        lot = lots[lot_id]
        yield replace(alpha.working, name=f"{lot.item.name}, lot {lot.code}")


def _pitches(rows: list[Allocation], pack_on: date, brew_on: date) -> Iterator[Working]:
    packed = [row for row in rows if row.bill_line.is_yeast_option]
    if not packed:
        return
    site, lives = site_settings(), yeast_lives(row.lot_id for row in packed)
    for row in packed:
        alive = lives.pitched_on(row.lot_id, pack_on, brew_on, journey(site))
        given = pitch_of(row.bill_line, alive, packs=row.per_kit, asked=frozen_row(row).exact)
        yield replace(given.working, name=f"{row.lot.item.name}, lot {row.lot.code}")
        if grown := given.starter(site.starter_billion_per_l * 1e9):
            yield grown


def _kept(day: Mapping[str, Any]) -> Iterator[Working]:
    named = (day.get(name) for name in ("strike", "mash_water", "first_runnings"))
    for figure in (*named, *day.get("priming", ()), day.get("carbonation")):
        if figure:
            yield Working.from_json(figure)
