"""What a hop lot would do to every offered kit that its hop goes into, worked out in one go.

Each kit is balanced with this lot in the place of its hop's reference alpha acid; its other hops
stay at theirs. Packed today, brewed after each kit's own shelf allowance.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from django.utils import timezone

from boxwort.figures import on_date
from boxwort.working import Working
from inventory.models import ItemKind, Lot
from inventory.queries.hops import hop_lives
from planning.engine.balances import Kits, Rebalanced, rebalanced
from planning.engine.kit_sheet import BoundKit, BoundLot
from planning.queries.supply import House, brew_day, hop_line, house
from recipes.models import Kit
from recipes.queries.bills import BillRow, bills_of


@dataclass(frozen=True, kw_only=True)
class LineEffect:
    """One addition of the hop: milligrams and boil minutes as frozen, and with the lot.

    ``limited``: it is held at what may be packed, and the kit does not meet its target.
    """

    key: str
    name: str
    role: str
    before_mg: int
    after_mg: int
    minutes_before: int | None
    minutes_after: int | None
    limited: bool


@dataclass(frozen=True, kw_only=True)
class KitEffect:
    """A kit weighed from the lot: IBU by design, with the frozen weights, and corrected."""

    kit_code: str
    kit_name: str
    brew_on: date
    alpha: float
    target_ibu: float
    ibu_unchanged: float
    ibu_corrected: float
    lines: tuple[LineEffect, ...]

    @property
    def limited(self) -> bool:
        """Whether any addition is held at a limit."""
        return any(line.limited for line in self.lines)

    @property
    def moves(self) -> bool:
        """Whether a weight or a boil time would change."""
        return any(
            (line.before_mg, line.minutes_before) != (line.after_mg, line.minutes_after)
            for line in self.lines
        )


@dataclass(frozen=True, kw_only=True)
class LotEffects:
    """What a lot does to the kits of its hop; ``alphas`` is its alpha acid by brew day."""

    kits: tuple[KitEffect, ...]
    alphas: tuple[Working, ...]


def lot_effects(lot: Lot, on: date | None = None) -> LotEffects:
    """Return what a lot does to every offered kit of its hop, as of ``on``; of other lots nothing.

    A fixed number of statements, however many kits there are.
    """
    if lot.item.kind != ItemKind.HOP:
        return LotEffects(kits=(), alphas=())
    today = on or timezone.localdate()
    kits = list(
        Kit.objects.filter(offered=True, bill__item=lot.item_id)
        .select_related("item")
        .distinct()
        .order_by("item__code")
    )
    bills = bills_of([kit.pk for kit in kits])
    lives, rules = hop_lives([lot.pk]), house()
    if lot.pk not in lives.hops:
        return LotEffects(kits=(), alphas=())
    factor = rules.form_factor(lives, lot.pk)
    found: list[KitEffect] = []
    alphas: list[Working] = []
    for shelf_days, alike in _by_shelf(kits).items():
        brew_on = brew_day(today, shelf_days)
        alpha = lives.on(lot.pk, pack_on=today, brew_on=brew_on, pouch=rules.pouch)
        named = f"{alpha.working.name}, brewed on {on_date(brew_on)}"
        alphas.append(replace(alpha.working, name=named))
        new = BoundLot(
            lot=lot.pk,
            code=lot.code,
            available=0,
            alpha=alpha.alpha,
            alpha_spread=alpha.spread,
            form_factor=factor,
        )
        found += _effects(alike, bills, lot.item.code, new, brew_on, rules)
    return LotEffects(kits=tuple(sorted(found, key=lambda kit: kit.kit_code)), alphas=tuple(alphas))


def _by_shelf(kits: Sequence[Kit]) -> dict[int, list[Kit]]:
    found: dict[int, list[Kit]] = defaultdict(list)
    for kit in kits:
        found[kit.shelf_days].append(kit)
    return found


def _effects(
    kits: Sequence[Kit],
    bills: dict[int, list[BillRow]],
    item: str,
    lot: BoundLot,
    brew_on: date,
    rules: House,
) -> Iterator[KitEffect]:
    hops = [[row for row in bills[kit.pk] if row.role] for kit in kits]
    bound = [_bound(kit, rows, rules) for kit, rows in zip(kits, hops, strict=True)]
    weighed = rebalanced(Kits.of(bound), item=item, lot=lot)
    for place, (kit, rows) in enumerate(zip(kits, hops, strict=True)):
        yield KitEffect(
            kit_code=kit.item.code,
            kit_name=kit.item.name,
            brew_on=brew_on,
            alpha=lot.alpha or 0.0,
            target_ibu=kit.target_ibu or 0.0,
            ibu_unchanged=float(weighed.ibu_unchanged[place]),
            ibu_corrected=float(weighed.ibu_corrected[place]),
            lines=tuple(_lines(bound[place], rows, weighed, place)),
        )


def _bound(kit: Kit, rows: Sequence[BillRow], rules: House) -> BoundKit:
    return BoundKit(
        target_ibu=kit.target_ibu or 0.0,
        hop_lines=[hop_line(row) for row in rows],
        bound_items={},
        resolution_mg=rules.resolution_mg,
        division_mg=rules.division_mg,
        most=rules.most,
    )


def _lines(
    kit: BoundKit, rows: Sequence[BillRow], weighed: Rebalanced, place: int
) -> Iterator[LineEffect]:
    for number, (line, row) in enumerate(zip(kit.hop_lines, rows, strict=True)):
        moved = int(weighed.minutes_after[place, number])
        yield LineEffect(
            key=row.key,
            name=line.name,
            role=row.role,
            before_mg=row.packed,
            after_mg=int(weighed.after_mg[place, number]),
            minutes_before=line.minutes if line.moves_in_time else None,
            minutes_after=moved if line.moves_in_time else None,
            limited=bool(weighed.limited[place, number]),
        )
