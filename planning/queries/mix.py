"""The mix that today's stock allows: which kits to pack when something is short, and why.

Kits wanted until a day, as the plan has it, less those that are packed already or that a batch
holds stock for; stock that can be used until then and is not held by a batch, what is on order
too. Firm orders come first, week by week of their promise. A kit earns its price less its standard
cost.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from math import ceil

import numpy as np

from boxwort.accounts.queries import site_settings
from boxwort.figures import money, share
from boxwort.quantities import UNITS, Measure, read_naturally
from planning.engine.mix import Mix, MixKit, ShadowPrice, mixed
from planning.engine.plan_causes import Causes
from planning.engine.plan_input import DAYS_A_WEEK, IntArray, PlanInput, PlanItem, PlanLot
from planning.engine.plan_wanted import wanted_by_customers
from planning.queries.kit_costs import StandardCost, in_cents, standard_costs
from planning.queries.plan_input import plan_input

PER = {
    Measure.MASS: ("kg", "g"),
    Measure.VOLUME: ("L", "mL"),
    Measure.COUNT: ("each",),
}
"""The units in which a planner thinks of one more, the finer where less than one is worth it."""
_NEARLY = 1e-6
_NAMES = {"kg": "kilogram", "g": "gram", "L": "litre", "mL": "millilitre", "each": "piece"}


@dataclass(frozen=True, kw_only=True)
class MixRow:
    """A kit: what is wanted of it, what to pack, and what that earns, in ten-thousandths.

    ``wanted`` is firm orders and forecast less what is packed or held for; ``planned`` of it are in
    runs that hold no stock yet. Where a part's cost is not known (``cost_known``), it counts as
    nothing.
    """

    kit_id: int
    kit_code: str
    kit_name: str
    firm: int
    firm_served: int
    wanted: int
    pack: int
    planned: int
    earns_each: int
    cost_known: bool

    @property
    def to_plan(self) -> int:
        """The kits to pack for which there is no run yet."""
        return max(self.pack - self.planned, 0)

    @property
    def earns(self) -> int:
        """What the kits to pack earn."""
        return self.pack * self.earns_each


@dataclass(frozen=True, kw_only=True)
class ShortRow:
    """An item that holds the mix back, and what one more of it would be worth, in words."""

    item_id: int
    item_code: str
    item_name: str
    said: str


@dataclass(frozen=True, kw_only=True)
class MixPage:
    """The mix until a day; ``said`` is how good it is known to be, in words."""

    on: date
    until: date
    currency: str
    rows: tuple[MixRow, ...]
    short: tuple[ShortRow, ...]
    earns: int
    bound: int
    said: str

    @property
    def unserved(self) -> int:
        """The firm kits that this mix leaves out."""
        return sum(row.firm - row.firm_served for row in self.rows)

    @property
    def all_packed(self) -> bool:
        """Whether every kit that is wanted can be packed."""
        return all(row.pack >= row.wanted for row in self.rows)

    @property
    def kits(self) -> int:
        """The kits to pack in all."""
        return sum(row.pack for row in self.rows)

    @property
    def to_plan(self) -> int:
        """The kits to pack for which there is no run yet."""
        return sum(row.to_plan for row in self.rows)


def mix_page(on: date, until: date) -> MixPage:
    """Return the mix of kits wanted until a day; a fixed number of statements."""
    given = plan_input(on)
    currency = site_settings().currency
    asked = _Asked(given, until, standard_costs([kit.kit_id for kit in given.kits]))
    found = mixed(asked.kits, asked.stock)
    return MixPage(
        on=on,
        until=until,
        currency=currency,
        rows=tuple(asked.row(place, found) for place in range(len(asked.kits))),
        short=tuple(_short(given, price, currency) for price in found.prices),
        earns=found.earns,
        bound=round(found.bound),
        said=_how_good(found, currency),
    )


class _Asked:
    """What might be packed and from what, by the names of the programme: places as text."""

    def __init__(self, given: PlanInput, until: date, costs: Mapping[int, StandardCost]) -> None:
        self.given, self.until, self.costs = given, until, costs
        self.alpha = self._mean_alpha()
        self.there = [self._there(place) for place in range(len(given.kits))]
        self.firm = self._firm()
        self.foreseen = self._foreseen()
        self.places = [
            place
            for place, kit in enumerate(given.kits)
            if kit.packable and self._wanted(place) > 0
        ]
        self.kits = [self._kit(place) for place in self.places]
        self.stock = self._stock()

    def _mean_alpha(self) -> dict[int, float]:
        """Return the mean alpha acid of each hop's usable lots, by item; else as planned."""
        weight: dict[int, float] = defaultdict(float)
        alpha: dict[int, float] = defaultdict(float)
        for lot in self.given.lots:
            if lot.alpha is not None:
                weight[lot.item] += lot.quantity
                alpha[lot.item] += lot.quantity * lot.alpha
        return {item: alpha[item] / weight[item] for item in weight if weight[item]}

    def _firm(self) -> IntArray:
        """Return what is firmly ordered and not there yet, [kits, weeks with a promise]."""
        given = self.given
        left = [
            (
                int(given.make_kit[line.make]),
                max((given.orders[line.order].promised_on - given.today).days // DAYS_A_WEEK, 0),
                line.left,
            )
            for line in given.order_lines
            if line.make is not None and given.orders[line.order].promised_on <= self.until
        ]
        weeks = sorted({week for _, week, _ in left})
        firm = np.zeros((len(given.kits), len(weeks)), dtype=np.int64)
        for place, week, kits in left:
            firm[place, weeks.index(week)] += kits
        for place, there in enumerate(self.there):
            upto = np.maximum(np.cumsum(firm[place]) - there, 0)
            firm[place] = np.diff(upto, prepend=0)
        return firm

    def _foreseen(self) -> IntArray:
        """Return what is wanted beyond orders, by kit."""
        causes = Causes(self.given)
        wanted = wanted_by_customers(self.given, causes)
        by_then = wanted.bucket <= (self.until - self.given.today).days
        mine = by_then & (wanted.cause >= causes.weeks)
        found = np.zeros(len(self.given.kits), dtype=np.int64)
        np.add.at(found, wanted.make[mine], wanted.quantity[mine])
        return found

    def _there(self, place: int) -> int:
        """Return the kits that are packed, and those that batches hold stock for."""
        given = self.given
        packed = sum(
            lot.quantity for lot in self._usable_lots() if lot.item == given.kits[place].item
        )
        return packed + self._in_runs(place, held=True)

    def _in_runs(self, place: int, *, held: bool) -> int:
        """Return the kits of open runs until then for which batches hold stock, or hold none."""
        given = self.given
        return sum(
            line.kits
            for line in given.run_lines
            if line.allotted == held
            and given.make_kit[line.make] == place
            and given.runs[line.run].pack_on <= self.until
        )

    def _usable_lots(self) -> Iterator[PlanLot]:
        for lot in self.given.lots:
            if lot.usable_from is None or lot.usable_from <= self.until:
                yield lot

    def _wanted(self, place: int) -> int:
        given = self.given
        ordered = sum(
            line.left
            for line in given.order_lines
            if line.make is not None
            and given.make_kit[line.make] == place
            and given.orders[line.order].promised_on <= self.until
        )
        return max(ordered + int(self.foreseen[place]) - self.there[place], 0)

    def _parts(self, kit: int) -> dict[int, tuple[float, float]]:
        """Return what a kit takes by item: whole units for a kit, and the share on top.

        Sub-kits are taken apart; hops counted by alpha acid are put to the lots' mean.
        """
        rows = self.given.rows
        found: dict[int, tuple[float, float]] = {}
        for at in np.flatnonzero(rows.make == kit).tolist():
            item, amount = int(rows.item[at]), float(rows.packed[at])
            inside = self.given.kit_of_item.get(item)
            if inside is not None:
                for part, (each, extra) in self._parts(inside).items():
                    found[part] = _added(found.get(part), each * amount, extra)
                continue
            if not np.isnan(rows.alpha[at]):
                strength = self.alpha.get(item) or self.given.items[item].alpha_on(self.given.today)
                amount *= float(rows.alpha[at]) / strength if strength else 1.0
            found[item] = _added(found.get(item), amount, float(rows.overage[at]))
        return found

    def _kit(self, place: int) -> MixKit:
        kit, parts = self.given.kits[place], self._parts(place)
        return MixKit(
            kit=str(place),
            firm=tuple(int(kits) for kits in self.firm[place]),
            most=self._wanted(place),
            earns=kit.price - self.costs[kit.kit_id].cost,
            takes={str(item): round(amount) for item, (amount, _) in parts.items()},
            overage={str(item): extra for item, (_, extra) in parts.items()},
        )

    def _stock(self) -> dict[str, int]:
        given = self.given
        stock: dict[int, int] = defaultdict(int)
        for lot in self._usable_lots():
            stock[lot.item] += lot.quantity
        for order in given.on_order:
            checked = timedelta(days=given.items[order.item].quarantine_days)
            if max(order.due_on, given.today) + checked <= self.until:
                stock[order.item] += order.quantity
        for held in given.allotted:
            stock[held.item] -= held.quantity
        taken = {item for kit in self.kits for item in kit.takes}
        return {item: max(stock[int(item)], 0) for item in sorted(taken, key=int)}

    def row(self, at: int, found: Mix) -> MixRow:
        """Return a kit of the answer."""
        place, kit = self.places[at], self.kits[at]
        item = self.given.items[self.given.kits[place].item]
        pack = found.kits[kit.kit]
        return MixRow(
            kit_id=self.given.kits[place].kit_id,
            kit_code=item.code,
            kit_name=item.name,
            firm=sum(kit.firm),
            firm_served=min(pack, sum(kit.firm)),
            wanted=kit.most,
            pack=pack,
            planned=self._in_runs(place, held=False),
            earns_each=kit.earns,
            cost_known=not self.costs[self.given.kits[place].kit_id].unpriced,
        )


def _added(known: tuple[float, float] | None, amount: float, extra: float) -> tuple[float, float]:
    before = known or (0.0, 0.0)
    return before[0] + amount, max(before[1], extra)


def _short(given: PlanInput, price: ShadowPrice, currency: str) -> ShortRow:
    item = given.items[int(price.item)]
    enough = ceil(1 / price.firm - _NEARLY) if price.firm else 0
    if 0 < enough <= price.valid_for:
        more = _amount(enough, item.measure)
        said = f"Another {more} of {item.name} would serve one more firm kit"
    else:
        said = _one_more(item, price, currency)
    return ShortRow(
        item_id=item.item_id,
        item_code=item.code,
        item_name=item.name,
        said=f"{said}; that holds for {_amount(price.valid_for, item.measure)} more.",
    )


def _amount(quantity: int, measure: Measure) -> str:
    return f"{quantity:,}" if measure is Measure.COUNT else read_naturally(quantity, measure)


def _one_more(item: PlanItem, price: ShadowPrice, currency: str) -> str:
    """Return what one more unit would do, of the largest unit for which that holds."""
    unit = next(
        (unit for unit in PER[item.measure] if UNITS[unit].size <= price.valid_for),
        PER[item.measure][-1],
    )
    each = int(UNITS[unit].size)
    does = (
        f"serve {price.firm * each:.3g} more firm kits"
        if price.firm
        else f"earn {money(in_cents(Fraction(price.worth * each)), currency)}"
    )
    return f"One more {_NAMES[unit]} of {item.name} would {does}"


def _how_good(found: Mix, currency: str) -> str:
    if not any(found.kits.values()):
        return "Nothing can be packed, or nothing is wanted."
    if found.proved and found.bound < found.earns + 1:
        return "No other whole number of kits serves as many firm orders and earns more."
    most = money(round(found.bound), currency)
    return (
        f"Kits that serve as many firm orders can earn {most} at most; this mix is within "
        f"{share(found.gap, 2)} of that."
    )
