"""The purchase plan: what to order from whom, in whole packs, by when and what for.

It is the purchases of the plan, which are for the runs that people planned, for those that the plan
suggests, for what customers want beside them, and for safety stocks; each line says how much of it
is for which. Asked so, it leaves out what is only for suggested runs.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date

from boxwort.accounts.queries import site_settings
from boxwort.figures import on_date
from boxwort.quantities import Measure
from boxwort.working import Working
from planning.engine.plan import PlanResult, planned
from planning.engine.plan_buying import Buy
from planning.engine.plan_causes import Cause, CauseKind
from planning.engine.plan_remedies import Remedies
from planning.queries.plan_input import plan_input
from planning.queries.requirements import PlanReader, RequirementRow


@dataclass(frozen=True, kw_only=True)
class PurchaseRow:
    """One line of a supplier's list. Quantities are whole units of stock, money ten-thousandths.

    Attributes
    ----------
    needed, on_hand, on_order: of the item in all, as the requirement has them.
    net: what this line covers; of it, for planned runs, for suggested runs, for customers and for
        the safety stock.
    pack_price: price of a pack at this number of packs; None: the offer has no price.
    arrives_on: when it comes if it is ordered at the next chance; ``usable_on`` after its checks.
    arrive_by: the last day on which it may come.
    runs: the runs it is for; ``suggested``: pack days of suggested ones; ``orders``: of customers.
    reasons: why it is more than the net requirement, or late.
    advice: what can be done when it should have been ordered before today.
    contract: the code of the contract it is called off; "": none.
    working: how many days before the need it must be ordered.
    """

    item_id: int
    item_code: str
    item_name: str
    measure: Measure
    supplier_item_code: str
    needed: int
    on_hand: int
    on_order: int
    net: int
    pack_quantity: int
    packs: int
    quantity: int
    pack_price: int | None
    cost: int
    need_by: date
    order_by: date
    arrives_on: date
    past_due: bool
    runs: tuple[str, ...]
    reasons: tuple[str, ...]
    advice: tuple[str, ...]
    offer_id: int = 0
    contract: str = ""
    usable_on: date | None = None
    arrive_by: date | None = None
    for_planned: int = 0
    for_suggested: int = 0
    for_customers: int = 0
    for_safety: int = 0
    suggested: tuple[date, ...] = ()
    orders: tuple[str, ...] = ()
    working: Working | None = None

    @property
    def expected_on(self) -> date:
        """When it should come: as late as it may, or as soon as it can where that is too late."""
        return self.arrives_on if self.past_due else self.arrive_by or self.need_by

    @property
    def serves(self) -> str:
        """What it is for, in words: the planned runs, then what else."""
        days = ", ".join(on_date(day) for day in self.suggested)
        said = [
            ", ".join(self.runs),
            f"suggested runs of {days}" if days else "",
            "boxes that leave" if self.for_customers else "",
        ]
        return "; ".join(filter(None, said)) or "Safety stock"


@dataclass(frozen=True, kw_only=True)
class SupplierPlan:
    """What to order from one supplier."""

    supplier_id: int
    supplier_code: str
    supplier_name: str
    lines: tuple[PurchaseRow, ...]

    @property
    def total(self) -> int:
        """Ten-thousandths of the currency, without lines that have no price."""
        return sum(line.cost for line in self.lines)

    @property
    def order_by(self) -> date:
        """The earliest day by which a line must be ordered."""
        return min(line.order_by for line in self.lines)

    @property
    def past_due(self) -> int:
        """How many lines should have been ordered before today."""
        return sum(line.past_due for line in self.lines)


@dataclass(frozen=True, kw_only=True)
class UnofferedRow:
    """An item that is missing and that no supplier offers."""

    item_id: int
    item_code: str
    item_name: str
    measure: Measure
    net: int
    need_by: date
    runs: tuple[str, ...]
    remedy: str


@dataclass(frozen=True, kw_only=True)
class RunNeedsRow:
    """A run seen from the purchase list: the items it waits for, with the missing quantity."""

    run_code: str
    pack_on: date
    items: tuple[tuple[RequirementRow, int], ...]


@dataclass(frozen=True, kw_only=True)
class PurchasePlan:
    """The requirements of every item as of ``on``, and what to buy for them.

    ``with_suggested``: whether it buys for the runs that the plan suggests as well. ``until``: the
    last day by which its lines must be ordered; ``later`` are the lines that can wait longer.
    """

    on: date
    producer: str
    currency: str
    items: tuple[RequirementRow, ...]
    suppliers: tuple[SupplierPlan, ...]
    unoffered: tuple[UnofferedRow, ...]
    runs: tuple[RunNeedsRow, ...]
    with_suggested: bool = True
    until: date | None = None
    later: int = 0

    @property
    def total(self) -> int:
        """Ten-thousandths of the currency over all suppliers."""
        return sum(supplier.total for supplier in self.suppliers)

    def due_by(self, until: date | None) -> PurchasePlan:
        """Return the list with only what must be ordered by a day; None: with all of it."""
        if until is None:
            return self
        due = [
            replace(
                supplier, lines=tuple(line for line in supplier.lines if line.order_by <= until)
            )
            for supplier in self.suppliers
        ]
        every, kept = (sum(len(each.lines) for each in group) for group in (self.suppliers, due))
        return replace(
            self,
            suppliers=tuple(supplier for supplier in due if supplier.lines),
            until=until,
            later=every - kept,
        )


def purchase_plan(on: date, *, suggested: bool = True, until: date | None = None) -> PurchasePlan:
    """Return what is needed and what must be bought for it, as of ``on``.

    Without ``suggested`` only for the runs that people planned; with ``until`` only what must be
    ordered by that day.
    """
    return purchase_plan_of(planned(plan_input(on, suggest=suggested))).due_by(until)


def purchase_plan_of(plan: PlanResult) -> PurchasePlan:
    """Return the purchases of a plan; one statement."""
    site = site_settings()
    reader = PlanReader(plan)
    items = {item: reader.requirement(item) for item in plan.items.tolist()}
    return PurchasePlan(
        on=plan.given.today,
        producer=site.producer,
        currency=site.currency,
        items=tuple(items.values()),
        suppliers=_suppliers(plan, items),
        unoffered=tuple(_unoffered(items[item]) for item in sorted(plan.nobody_offers)),
        runs=_runs(items.values()),
        with_suggested=plan.given.suggest,
    )


def _suppliers(plan: PlanResult, items: dict[int, RequirementRow]) -> tuple[SupplierPlan, ...]:
    lines: dict[tuple[str, int, str], list[PurchaseRow]] = defaultdict(list)
    writer = _Writer(plan)
    for place, buy in enumerate(plan.buys):
        supplier = buy.offer.supplier_code, buy.offer.supplier_id, buy.offer.supplier_name
        lines[supplier].append(writer.line(place, buy, items[buy.item]))
    return tuple(
        SupplierPlan(
            supplier_id=supplier_id,
            supplier_code=code,
            supplier_name=name,
            lines=tuple(sorted(found, key=lambda line: (line.order_by, line.item_code))),
        )
        for (code, supplier_id, name), found in sorted(lines.items())
    )


@dataclass(frozen=True, kw_only=True)
class Serves:
    """What an order is for: whole units by cause, and what is left for the safety stock."""

    causes: tuple[tuple[Cause, int], ...]
    safety: int

    def quantity(self, *kinds: CauseKind) -> int:
        """Return how much of it is for causes of these kinds."""
        return sum(quantity for cause, quantity in self.causes if cause.kind in kinds)

    def references(self, kind: CauseKind) -> tuple[str, ...]:
        """Return the causes of a kind."""
        return tuple(cause.reference for cause, _ in self.causes if cause.kind is kind)

    @property
    def in_words(self) -> tuple[tuple[str, int], ...]:
        """What it is for, in words, with the quantities."""
        found = [(cause.named, much) for cause, much in self.causes]
        return (*found, *([("the safety stock", self.safety)] if self.safety else []))


def serves(plan: PlanResult) -> list[Serves]:
    """Return what each order of a plan is for."""
    pegs = plan.buy_pegs
    found: list[dict[int, int]] = [{} for _ in plan.buys]
    for need, buy, quantity in zip(
        pegs.need.tolist(), pegs.supply.tolist(), pegs.quantity.tolist(), strict=True
    ):
        if need >= 0 and buy >= 0:
            cause = int(plan.needs.cause[need])
            found[buy][cause] = found[buy].get(cause, 0) + quantity
    return [
        Serves(
            causes=tuple((plan.causes.of(cause), quantity) for cause, quantity in row.items()),
            safety=buy.net - sum(row.values()),
        )
        for buy, row in zip(plan.buys, found, strict=True)
    ]


class _Writer:
    """Orders of a plan as lines of a list."""

    def __init__(self, plan: PlanResult) -> None:
        self.plan, self.serves, self.remedies = plan, serves(plan), Remedies(plan)

    def line(self, place: int, buy: Buy, item: RequirementRow) -> PurchaseRow:
        found, days = self.serves[place], buy.days
        suggested = found.references(CauseKind.SUGGESTED)
        return PurchaseRow(
            item_id=item.item_id,
            item_code=item.item_code,
            item_name=item.item_name,
            measure=item.measure,
            supplier_item_code=buy.offer.supplier_item_code,
            needed=item.gross,
            on_hand=item.usable,
            on_order=item.on_order,
            net=buy.net,
            pack_quantity=buy.offer.pack_quantity,
            packs=buy.packs,
            quantity=buy.quantity,
            pack_price=buy.pack_price,
            cost=buy.cost,
            need_by=days.need_by,
            order_by=days.order_by,
            arrives_on=days.arrives_on,
            past_due=days.past_due,
            runs=found.references(CauseKind.RUN),
            reasons=(*buy.reasons, *_late(buy)),
            advice=self.remedies.of(place),
            offer_id=buy.offer.offer_id,
            contract=buy.contract,
            usable_on=days.usable_on,
            arrive_by=days.arrive_by,
            for_planned=found.quantity(CauseKind.RUN),
            for_suggested=found.quantity(CauseKind.SUGGESTED),
            for_customers=found.quantity(CauseKind.ORDER, CauseKind.FORECAST),
            for_safety=found.safety,
            suggested=tuple(sorted({date.fromisoformat(day) for day in suggested})),
            orders=found.references(CauseKind.ORDER),
            working=days.working(),
        )


def _late(buy: Buy) -> Iterator[str]:
    if buy.days.past_due:
        yield (
            f"Past due: it should have been ordered by {on_date(buy.days.order_by)}; ordered on "
            f"{on_date(buy.days.next_order_on)} it arrives on {on_date(buy.days.arrives_on)}."
        )


def _unoffered(item: RequirementRow) -> UnofferedRow:
    return UnofferedRow(
        item_id=item.item_id,
        item_code=item.item_code,
        item_name=item.item_name,
        measure=item.measure,
        net=item.net,
        need_by=item.missing[0].on,
        runs=tuple(dict.fromkeys(run for row in item.missing for run in row.runs)),
        remedy=f"No supplier offers {item.item_name} ({item.item_code}): add an offer with its "
        "pack, lead time and price.",
    )


def _runs(items: Iterable[RequirementRow]) -> tuple[RunNeedsRow, ...]:
    """Return the planned runs that wait for something, in the order of their pack days."""
    found: dict[tuple[date, str], list[tuple[RequirementRow, int]]] = defaultdict(list)
    for item in items:
        for need in item.needs:
            if need.run_code and need.to_buy:
                found[need.on, need.run_code].append((item, need.to_buy))
    return tuple(
        RunNeedsRow(run_code=code, pack_on=pack_on, items=tuple(waits))
        for (pack_on, code), waits in sorted(found.items(), key=lambda pair: pair[0])
    )
