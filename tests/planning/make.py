"""Makers for tests of planning: a pale ale kit, and a store full of lots for it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from boxwort.accounts.models import User
from boxwort.jobs.models import Job
from boxwort.quantities import MG_PER_G, MG_PER_KG
from inventory.models import AnalysisKind, Item, ItemKind, Lot, LotStatus, Place, PostingKind
from inventory.queries.hops import hop_alphas
from inventory.services.analyses import record_analysis
from inventory.services.catalogue import write_place
from inventory.services.lots import receive_lot
from planning.models import Batch, Proposal, ProposalState, Run
from planning.queries.supply import brew_day, house
from planning.services.packing import Packed, pack_batch, start_packing
from planning.services.reserving import reserve_run
from planning.services.runs import KitsAsked, plan_run
from planning.services.substituting import choose_substitutes
from planning.tasks import rebalance
from recipes.brewing.roles import HopRole, MethodKind, Use
from recipes.models import Kit, Revision
from recipes.queries.bills import SubstituteRow, bill_substitutes
from recipes.services.methods import write_yeasts
from tests.make import person
from tests.recipes.make import (
    Catalogue,
    approved,
    catalogue,
    developer,
    draft,
    hop,
    hop_line,
    line,
    liquid_yeast,
    malt,
    offered,
    offered_kit,
    pale_ale,
    write_method_of,
)
from tests.remembering import remembered

TODAY = date(2026, 3, 2)
PACK_ON = TODAY + timedelta(days=7)
LONG_GOOD_UNTIL = date(2099, 12, 31)  # some scenes play on the real day


def planner(username: str = "pat") -> User:
    return person(username, "planner")


@dataclass
class Store:
    """A kit maker's store in which the pale ale can be packed; lots by item."""

    goods: Catalogue
    kit: Kit
    shelf: Place
    by: User = field(default_factory=planner)

    def lot(
        self,
        item: Item,
        quantity: int,
        *,
        code: str = "",
        alpha: float | None = None,
        **facts: Any,
    ) -> Lot:
        """Receive a lot, released unless said otherwise, with its alpha acid if it is a hop."""
        code = code or f"{item.code}-{Lot.objects.count() + 1}"[:20]
        known = {
            "received_on": TODAY - timedelta(days=30),
            "best_before_on": LONG_GOOD_UNTIL,
            "status": LotStatus.RELEASED,
            "kind": PostingKind.OPENING,
        } | facts
        made = receive_lot(
            by=self.by,
            code=code,
            item=item,
            quantity=quantity,
            place=self.shelf,
            key=f"receive {code}",
            **known,
        )
        if alpha is not None:
            self.analysed(made, alpha, sampled_on=known["received_on"])
        return made

    def analysed(self, lot: Lot, alpha: float, *, sampled_on: date = TODAY) -> None:
        record_analysis(
            by=self.by, lot=lot, kind=AnalysisKind.ALPHA, sampled_on=sampled_on, value=alpha
        )

    def plan(self, kits: int = 10, pack_on: date = PACK_ON) -> Run:
        asked = [KitsAsked(kit=self.kit, kits=kits)]
        return plan_run(by=self.by, pack_on=pack_on, lines=asked)

    def reserved(self, kits: int = 10, pack_on: date = PACK_ON) -> Run:
        run = self.plan(kits, pack_on)
        reserve_run(by=self.by, run=run, expected=run.version)
        run.refresh_from_db()
        return run


@remembered
def store(
    *, hops: bool = True, recipe: Callable[[Catalogue], Revision] = pale_ale, **facts: Any
) -> Store:
    """Return a store with plenty of everything; without hops unless asked."""
    goods = catalogue()
    kit = offered_kit(offered(recipe(goods)), "KIT-PALE", goods, **facts)
    shelf = write_place(
        by=planner(), code="COLD", name="Cold store", temperature_c=4.0, from_on=date(2025, 1, 1)
    )
    made = Store(goods=goods, kit=kit, shelf=shelf)
    for item in (goods.dry_extract, goods.crystal, goods.gypsum):
        made.lot(item, 200 * MG_PER_KG)
    made.lot(goods.box, 500)
    if hops:
        made.lot(goods.bittering, grams(2000), code="BITTER-A", alpha=0.08)
        made.lot(goods.aroma, grams(3000), code="AROMA-A", alpha=0.06)
    return made


def pouched_ale(goods: Catalogue) -> Revision:
    """Return a draft whose bittering is a pouch of 36 g that boils 20 to 60 min, 35 by recipe."""
    revision = draft()
    write_yeasts(by=developer(), revision=revision, items=[goods.ale_yeast])
    moving = {"role": HopRole.MOVE_TIME, "least_minutes": 20, "most_minutes": 60}
    write_method_of(
        revision,
        line(goods.dry_extract, Use.BOIL, 2700, 60),
        line(goods.crystal, Use.STEEP, 300, 20),
        hop_line(goods.bittering, Use.BOIL, 36, 35, **moving),
        hop_line(goods.aroma, Use.BOIL, 20, 15),
    )
    return revision


def ale_with_substitutes(goods: Catalogue) -> Revision:
    """Return the pale ale, for whose bittering hop and extract something else was approved."""
    revision = pale_ale(goods)
    lines = revision.methods.get(kind=MethodKind.EXTRACT).lines
    approved(lines.get(item=goods.bittering), hop("OTHER", 0.12, overage=0.03), ratio=0.7)
    wheat = malt("WHEAT", ItemKind.EXTRACT, points=350.0, allergens=["barley", "wheat"])
    approved(lines.get(item=goods.dry_extract), wheat)
    return revision


def ale_with_another_yeast(goods: Catalogue) -> Revision:
    """Return the pale ale, for whose usual yeast another one was approved."""
    revision = pale_ale(goods)
    approved(revision.yeasts.get(item=goods.ale_yeast), liquid_yeast("SPARE"))
    return revision


def stand_in(kit: Kit, key: str) -> SubstituteRow:
    """Return the one frozen substitute of a row of a kit's bill."""
    (row,) = bill_substitutes([kit.pk])[kit.pk][key]
    return row


def using(made: Store, run: Run, *keys: str) -> Run:
    """Let the one line of a run use the substitutes of these rows."""
    chosen = {key: stand_in(made.kit, key).id for key in keys}
    expected = run.version
    choose_substitutes(by=made.by, run=run, expected=expected, chosen={run.lines.get().pk: chosen})
    return run


def grams(amount: float) -> int:
    return round(amount * MG_PER_G)


def do_jobs() -> int:
    """Run every waiting re-balancing as a worker would, and return how many there were."""
    waiting = list(Job.objects.filter(state="queued").order_by("pk"))
    for job in waiting:
        rebalance(job.pk)
    return len(waiting)


def open_proposals() -> list[Proposal]:
    return list(Proposal.objects.filter(state=ProposalState.OPEN).order_by("pk"))


def packing(kits: int = 10) -> tuple[Store, Run, Batch]:
    """Return a store with a run that is being packed, and its one batch."""
    made = store()
    run = made.reserved(kits)
    start_packing(by=made.by, run=run, expected=run.version)
    return made, run, Batch.objects.select_related("run_line__run", "run_line__kit__item").get()


def pack(made: Store, batch: Batch, kits: int = 10, used: dict[int, int] | None = None) -> Lot:
    return pack_batch(
        by=made.by,
        batch=batch,
        expected=batch.version,
        packed=Packed(kits=kits, used=used or {}),
        place=made.shelf,
        on=TODAY,
        key=f"pack {batch.code}",
    )


def aim_at(kit: Kit, ibu: float) -> None:
    """Set the target of a kit, so that what its hops must give is known."""
    Kit.objects.filter(pk=kit.pk).update(target_ibu=ibu)


def ibu_of_other_hops(kit: Kit, lot: Lot) -> float:
    """Return what the hops that absorb nothing give from a lot on the brew day of PACK_ON."""
    brew_on = brew_day(PACK_ON, kit.shelf_days)
    pouch = house().pouch
    alpha = hop_alphas([lot.pk], pack_on=PACK_ON, brew_on=brew_on, pouch=pouch)[lot.pk].alpha
    others = kit.bill.exclude(role="").exclude(role="absorb")
    return sum(row.packed / MG_PER_G * alpha * (row.ibu_per_gram or 0.0) for row in others)
