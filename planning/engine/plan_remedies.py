"""What can still be done about an order that should have been placed before today."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import numpy as np

from boxwort.figures import on_date
from boxwort.quantities import read_naturally
from planning.engine.plan import PlanResult
from planning.engine.plan_buying import Buy, days_of
from planning.engine.plan_causes import CauseKind
from planning.engine.plan_input import Held
from planning.engine.plan_late import WaitingFor, kits_of, waiting

_RUNS = (CauseKind.RUN, CauseKind.SUGGESTED)


class Remedies:
    """The remedies of a plan; what its runs wait for is looked up once."""

    def __init__(self, plan: PlanResult) -> None:
        self.plan = plan
        self.waiting: dict[int, WaitingFor] = {row.cause: row for row in waiting(plan)}

    def of(self, place: int) -> tuple[str, ...]:
        """Return what can be done about an order of the plan; nothing where it is in time."""
        buy = self.plan.buys[place]
        if not buy.days.past_due:
            return ()
        causes = self._causes(place)
        return (*self._said(buy, causes), *self._fewer(causes))

    def for_one(self, cause: int, item: int) -> tuple[str, ...]:
        """Return what can be done about the orders for an item that one cause waits for."""
        said: dict[str, None] = {}
        for place in self._orders_of(cause, item):
            buy = self.plan.buys[place]
            if buy.days.past_due:
                said.update(dict.fromkeys(self._said(buy, [cause])))
        return tuple(said)

    def _orders_of(self, cause: int, item: int) -> list[int]:
        pegs, needs = self.plan.buy_pegs, self.plan.needs
        mine = (needs.cause == cause) & (needs.item == item)
        chosen = (pegs.need >= 0) & (pegs.supply >= 0) & mine[pegs.need]
        return list(dict.fromkeys(pegs.supply[chosen].tolist()))

    def _causes(self, place: int) -> list[int]:
        pegs = self.plan.buy_pegs
        needs = pegs.need[(pegs.supply == place) & (pegs.need >= 0)]
        return list(dict.fromkeys(self.plan.needs.cause[needs].tolist()))

    def _said(self, buy: Buy, causes: list[int]) -> Iterator[str]:
        if not causes:
            yield "No run waits for it: only the safety stock is touched until it arrives."
        yield from self._quarantine(buy)
        yield from self._under_way(buy)
        in_time = list(self._in_time(buy))
        yield from in_time
        yield from self._stand_ins(buy, causes)
        if causes and not in_time:
            yield self._later(buy, causes)

    def _quarantine(self, buy: Buy) -> Iterator[str]:
        item = self.plan.given.items[buy.item]
        held = self.plan.given.held.get(buy.item, Held())
        if held.quarantine:
            waits = read_naturally(held.quarantine, item.measure)
            yield f"{waits} waits in quarantine: release it if its certificate is good."

    def _under_way(self, buy: Buy) -> Iterator[str]:
        """Yield the orders that come after the need, to be asked for sooner."""
        given, table = self.plan.given, self.plan.table
        for place, order in enumerate(given.on_order, start=table.lots):
            late = table.first[place] > buy.bucket
            if late and order.item == buy.item and order.due_on > given.today:
                brings = read_naturally(order.quantity, given.items[order.item].measure)
                yield (
                    f"Order {order.code} brings {brings} on {on_date(order.due_on)}: ask for it "
                    "sooner."
                )

    def _in_time(self, buy: Buy) -> Iterator[str]:
        for offer in sorted(self.plan.given.offers, key=lambda offer: offer.supplier_name):
            if offer.item == buy.item and offer.offer_id != buy.offer.offer_id:
                days = days_of(self.plan.given, offer, buy.bucket)
                if not days.past_due:
                    yield (
                        f"{offer.supplier_name} delivers in {offer.delivery.lead_days} days, "
                        f"in time: order it there by {on_date(days.order_by)}."
                    )

    def _stand_ins(self, buy: Buy, causes: list[int]) -> Iterator[str]:
        """Yield the approved substitutes of which enough lies free for all that wait."""
        makes = Counter[int]()
        for cause in causes:
            makes.update(kits_of(self.plan, cause))
        wanted = Counter[int]()
        for row in self.plan.given.stand_ins:
            if row.stands_for == buy.item:
                wanted[row.item] += row.packed * makes[row.make]
        for item in sorted(+wanted):
            if self._free(buy, item) >= wanted[item]:
                name = self.plan.given.items[item].name
                yield f"{name} is approved in its place, and enough of it lies free: use it."

    def _free(self, buy: Buy, item: int) -> int:
        """Return what can be used of an item by the day of the need, and nothing needs."""
        table, pegs = self.plan.table, self.plan.netting.pegs
        lots = np.flatnonzero(
            (table.item == item) & (table.first <= buy.bucket) & (table.last >= buy.bucket)
        )
        needs = self.plan.needs
        mine = (pegs.supply >= 0) & (needs.item[pegs.need] == item)
        by_weight = mine & (needs.alpha[pegs.need] == 0)
        taken = int(pegs.quantity[by_weight].sum())
        taken += int(needs.quantity[pegs.need[mine & ~by_weight]].sum())
        return int(table.quantity[lots].sum()) - taken

    def _fewer(self, causes: list[int]) -> Iterator[str]:
        for cause in causes:
            row = self.waiting.get(cause)
            known = self.plan.causes.of(cause)
            if row and known.kind in _RUNS and 0 < row.possible < row.kits:
                yield (
                    f"What is there in time makes about {row.possible} of the {row.kits} kits of "
                    f"{known.named}."
                )

    def _later(self, buy: Buy, causes: list[int]) -> str:
        listed = ", ".join(self.plan.causes.of(cause).named for cause in causes[:4])
        more = f" and {len(causes) - 4} more" if len(causes) > 4 else ""
        day = on_date(buy.days.usable_on)
        return f"Ask for faster delivery, or move {listed}{more} to {day} or later."
