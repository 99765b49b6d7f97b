"""What kits ask of stock and what stock can give, in the words of the planning engine.

A *bound* item (a hop, a yeast packed to stock) fixes the batch: its lot may not change inside
one. Everything else packed to stock is divisible: its lots may change from box to box. Parts
added at dispatch are not taken by a run.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from django.utils import timezone

from boxwort.accounts.queries import site_settings
from inventory.models.analyses import METHOD_CHOICES
from inventory.queries.hops import HopLives, Pouch, hop_lives
from inventory.queries.lots import UsableLot, usable_lots
from inventory.queries.yeasts import Journey, YeastLives, journey, yeast_lives
from planning.engine.balance import HopLine
from planning.engine.kit_sheet import BoundLot
from planning.engine.lots import LotSupply
from planning.engine.pitching import enough, pitched_share
from planning.queries.chosen_substitutes import Chosen, in_the_box
from recipes.brewing.bitterness import form_factor_between
from recipes.brewing.roles import HopRole, Use
from recipes.models import Kit, Part
from recipes.queries.bills import BillRow

_METHODS = dict(METHOD_CHOICES)


@dataclass(frozen=True, kw_only=True)
class House:
    """The house rules of packing that every weight depends on."""

    resolution_mg: int
    division_mg: int
    minimum_kits: int
    pouch: Pouch
    journey: Journey
    form_factors: Mapping[str, float]
    most: float

    def form_factor(self, lives: HopLives, lot_id: int) -> float:
        """Return what a lot's form gives, relative to the form of its item."""
        reference = lives.reference_form(lot_id)
        return form_factor_between(reference, lives.form(lot_id), self.form_factors)


def house() -> House:
    """Return the house rules from the site's settings."""
    site = site_settings()
    return House(
        resolution_mg=site.pouch_resolution_mg,
        division_mg=site.scale_division_mg,
        minimum_kits=site.minimum_batch_kits,
        pouch=Pouch(temperature_c=site.pouch_temperature_c, packing=site.pouch_packing),
        journey=journey(site),
        form_factors=site.form_factors,
        most=site.most_multiple,
    )


@dataclass(frozen=True, kw_only=True)
class KitNeeds:
    """One kit's packed parts: hop lines, packed yeast, and what is divisible.

    ``yeast`` is the row of the chosen yeast option when it is packed to stock.
    """

    hops: tuple[BillRow, ...]
    yeast: BillRow | None
    divisible: tuple[BillRow, ...]

    @property
    def rows(self) -> tuple[BillRow, ...]:
        """Every row that a run takes from stock."""
        return (*self.hops, *((self.yeast,) if self.yeast else ()), *self.divisible)

    @property
    def overage(self) -> dict[str, float]:
        """Overage share by item code."""
        return {row.item_code: row.overage for row in self.rows}


def kit_needs(
    bill: Sequence[BillRow], yeast_item_id: int | None, chosen: Chosen | None = None
) -> KitNeeds:
    """Return what a run takes for one kit, its substitutes in place of what they stand for.

    Without a choice the first yeast option is used.
    """
    boxed = in_the_box(bill, yeast_item_id, chosen or {})
    packed = [row for row in boxed if row.part == Part.PACKED]
    return KitNeeds(
        hops=tuple(row for row in packed if row.role),
        yeast=next((row for row in packed if row.is_yeast_option), None),
        divisible=tuple(row for row in packed if not row.role and not row.is_yeast_option),
    )


def own_target(kit: Kit, needs: KitNeeds) -> float:
    """Return the IBU that the hops weighed into a kit must give; none where a hop pack gives it."""
    return (kit.target_ibu or 0.0) if needs.hops else 0.0


@dataclass(frozen=True, kw_only=True)
class Stock:
    """Usable lots by item id and what is known of them, with what is left as lines are allotted."""

    lots: Mapping[int, Sequence[UsableLot]]
    hops: HopLives
    yeasts: YeastLives
    taken: dict[int, int] = field(default_factory=dict)

    def of(self, item_ids: Iterable[int]) -> list[UsableLot]:
        """Return the usable lots of these items."""
        return [lot for item_id in item_ids for lot in self.lots.get(item_id, ())]

    def left(self, lot: UsableLot) -> int:
        """Return what earlier lines have left of a lot."""
        return lot.available - self.taken.get(lot.lot_id, 0)

    def take(self, taken: Mapping[int, int]) -> None:
        """Note what a line takes."""
        for lot_id, quantity in taken.items():
            self.taken[lot_id] = self.taken.get(lot_id, 0) + quantity

    def supply(self, row: BillRow) -> list[LotSupply]:
        """Return the lots of a divisible row's item as the engine sees them."""
        return [
            LotSupply(
                lot=lot.lot_id,
                code=lot.code,
                available=self.left(lot),
                first_day=lot.received_on,
                last_day=lot.best_before_on,
            )
            for lot in self.lots.get(row.item_id, ())
        ]


def stock_for(needs: Iterable[KitNeeds], pack_on: date, also: Iterable[int] = ()) -> Stock:
    """Return the released, unexpired, unreserved lots of everything these kits take.

    ``also`` is items that might take the place of some of it.
    """
    items = {row.item_id for need in needs for row in need.rows}.union(also)
    return known_stock(usable_lots(sorted(items), weighing_day(pack_on)))


def weighing_day(pack_on: date) -> date:
    """Return the earliest day on which lots can be taken: a run that is late is packed today."""
    return max(pack_on, timezone.localdate())


def known_stock(lots: Mapping[int, Sequence[UsableLot]]) -> Stock:
    """Return lots with all that is known of their ageing."""
    ids = [lot.lot_id for rows in lots.values() for lot in rows]
    return Stock(lots=lots, hops=hop_lives(ids), yeasts=yeast_lives(ids))


def brew_day(pack_on: date, shelf_days: int) -> date:
    """Return the day the weights are right for: packing plus the kit's shelf allowance."""
    return pack_on + timedelta(days=shelf_days)


def frozen_id(row: BillRow) -> int:
    """Return the row of the frozen bill that this is; a run packs no other."""
    if row.bill_line_id is None:
        msg = f"{row.item_code} is on a draft's bill, which no run packs"
        raise ValueError(msg)
    return row.bill_line_id


def hop_line(row: BillRow) -> HopLine:
    """Return a bill row as the balancing sees it, at its reference alpha until a lot is chosen."""
    if row.reference_alpha is None or row.ibu_per_gram is None:
        msg = f"{row.item_code} has a role and no frozen alpha"
        raise ValueError(msg)
    return HopLine(
        line=row.key,
        name=f"{row.item_name} {_goes_in(row)}",
        role=HopRole(row.role),
        reference_mg=row.packed,
        reference_alpha=row.reference_alpha,
        ibu_per_gram=row.ibu_per_gram,
        alpha=row.reference_alpha,
        item=row.item_code,
        minutes=row.minutes,
        minutes_table=dict(row.minutes_table),
    )


def _goes_in(row: BillRow) -> str:
    """Return when a hop goes in, to stand behind its name: a hop twice in a kit is told apart."""
    match row.use:
        case Use.BOIL:
            return f"at {row.minutes} min" if row.minutes else "at the end of the boil"
        case Use.WHIRLPOOL:
            return f"in the hop stand for {row.minutes} min" if row.minutes else "in the hop stand"
        case Use.FIRST_WORT:
            return "in the first wort"
        case Use.FLAME_OUT:
            return "at flame-out"
        case Use.MASH:
            return "in the mash"
        case _:
            return "as dry hop"


def bound_lots(
    needs: KitNeeds, stock: Stock, *, pack_on: date, brew_on: date, rules: House
) -> dict[str, list[BoundLot]]:
    """Return the candidate lots of each hop and packed yeast, by item code."""
    found = {
        row.item_code: hop_lots(row.item_id, stock, pack_on=pack_on, brew_on=brew_on, rules=rules)
        for row in needs.hops
    }
    if needs.yeast:
        found[needs.yeast.item_code] = _yeast_lots(
            needs.yeast, stock, pack_on=pack_on, brew_on=brew_on, rules=rules
        )
    return found


def hop_lots(
    item_id: int, stock: Stock, *, pack_on: date, brew_on: date, rules: House
) -> list[BoundLot]:
    """Return the lots of a hop with their alpha acid on brew day."""
    return [
        _hop_lot(lot, stock, pack_on=pack_on, brew_on=brew_on, rules=rules)
        for lot in stock.of([item_id])
    ]


def _yeast_lots(
    row: BillRow, stock: Stock, *, pack_on: date, brew_on: date, rules: House
) -> list[BoundLot]:
    """Return the yeast lots of which the packs on the bill pitch the floor or more."""
    alive = {
        lot: stock.yeasts.pitched_on(lot.lot_id, pack_on, brew_on, rules.journey)
        for lot in stock.of([row.item_id])
    }
    return [
        _bound(lot, stock)
        for lot, yeast in alive.items()
        if enough(
            pitched_share(packs=row.packed, living=yeast.share, fill=yeast.fill, asked=row.exact),
            yeast.floor_share if row.pitch_floor is None else row.pitch_floor,
        )
    ]


def _hop_lot(
    lot: UsableLot, stock: Stock, *, pack_on: date, brew_on: date, rules: House
) -> BoundLot:
    alpha = stock.hops.on(lot.lot_id, pack_on=pack_on, brew_on=brew_on, pouch=rules.pouch)
    return replace(
        _bound(lot, stock),
        alpha=alpha.alpha,
        alpha_spread=alpha.spread,
        alpha_method=_METHODS.get(alpha.method, ""),
        form_factor=rules.form_factor(stock.hops, lot.lot_id),
    )


def _bound(lot: UsableLot, stock: Stock) -> BoundLot:
    return BoundLot(
        lot=lot.lot_id,
        code=lot.code,
        available=stock.left(lot),
        first_day=lot.received_on,
        last_day=lot.best_before_on,
    )
