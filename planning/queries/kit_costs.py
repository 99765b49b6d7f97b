"""What kits cost and earn: as they would be packed now, and as each lot was."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from boxwort.accounts.queries import site_settings
from boxwort.quantities import Measure
from boxwort.working import Working
from inventory.models import Lot
from planning.engine.kit_cost import CostedPart, cost_of, kit_cost, margin, margin_share
from planning.queries.item_costs import Cost, item_costs
from recipes.models import Kit, KitBillLine, Part

CENT = 100
"""Ten-thousandths in the smallest coin, to which what is worked out is rounded."""
READ_IN = {Measure.MASS: ("g", 1000), Measure.VOLUME: ("mL", 1000), Measure.COUNT: ("pieces", 1)}
"""The unit that people read an amount in, and how many units of stock it holds."""


@dataclass(frozen=True, kw_only=True)
class StandardCost:
    """A kit as it would be packed now: its parts, each at what the item costs now.

    Of several yeasts to choose from, the first is counted.
    """

    parts: tuple[CostedPart, ...]

    @property
    def exact(self) -> Fraction:
        """Ten-thousandths for one kit, unrounded."""
        return cost_of(self.parts)

    @property
    def cost(self) -> int:
        """Ten-thousandths for one kit, in whole cents."""
        return in_cents(self.exact)

    @property
    def at_dispatch(self) -> Fraction:
        """Ten-thousandths of what is added when it is sent, unrounded."""
        return cost_of(self.parts, at_dispatch=True)

    @property
    def unpriced(self) -> tuple[str, ...]:
        """What of it nothing says the cost of."""
        return tuple(part.name for part in self.parts if part.cost is None)


@dataclass(frozen=True, kw_only=True)
class KitLotCostRow:
    """What one kit of a lot cost, in ten-thousandths rounded to whole cents.

    ``packed`` is what the lot's own parts cost, ``added`` what is added at dispatch, at what that
    costs now; ``margin`` is of the kit's price, ``share`` of it; None without a price.
    """

    lot_id: int
    lot_code: str
    packed_on: date
    kits: int
    packed: int
    added: int
    cost: int
    margin: int | None
    share: float | None


@dataclass(frozen=True, kw_only=True)
class KitCostRow:
    """A kit with its standard cost and what its lots cost; money in ten-thousandths.

    ``least``, ``most`` and ``mean`` are of one kit over the lots, the mean by kits packed.
    """

    kit_id: int
    kit_code: str
    kit_name: str
    price: int
    standard: int
    unpriced: tuple[str, ...]
    margin: int | None
    share: float | None
    working: Working
    margin_working: Working | None
    lots: tuple[KitLotCostRow, ...]
    least: int | None
    most: int | None
    mean: int | None


def standard_costs(kit_ids: Iterable[int] | None = None) -> dict[int, StandardCost]:
    """Return what kits would cost now, by the kit's id; all offered ones unless named.

    Statements do not grow with the kits.
    """
    costs = item_costs()
    bills: dict[int, list[KitBillLine]] = defaultdict(list)
    for line in KitBillLine.objects.select_related("item").order_by("kit", "position"):
        bills[line.kit_id].append(line)
    kits = dict(Kit.objects.filter(offered=True).values_list("pk", "item"))
    known = _Standard(bills=bills, costs=costs, kit_of={item: kit for kit, item in kits.items()})
    wanted = kits if kit_ids is None else kit_ids
    return {kit: known.of(kit) for kit in wanted}


class _Standard:
    """Kits worked out once each: a kit may hold another."""

    def __init__(
        self,
        *,
        bills: Mapping[int, Sequence[KitBillLine]],
        costs: Mapping[int, Cost],
        kit_of: Mapping[int, int],
    ) -> None:
        self.bills, self.costs, self.kit_of = bills, costs, kit_of
        self.found: dict[int, StandardCost] = {}

    def of(self, kit: int) -> StandardCost:
        if kit not in self.found:
            self.found[kit] = StandardCost(parts=tuple(self._parts(kit)))
        return self.found[kit]

    def _parts(self, kit: int) -> Iterable[CostedPart]:
        yeast = False
        for line in self.bills.get(kit, ()):
            if line.is_yeast_option and yeast:
                continue
            yeast |= line.is_yeast_option
            unit, in_unit = READ_IN[Measure(line.item.measure)]
            yield CostedPart(
                name=line.item.name,
                packed=line.packed,
                unit=unit,
                in_unit=in_unit,
                overage=line.overage,
                cost=self._cost(line.item_id),
                at_dispatch=line.part == Part.DISPATCH,
            )

    def _cost(self, item: int) -> Cost | None:
        if item in self.costs or item not in self.kit_of:
            return self.costs.get(item)
        inner = self.of(self.kit_of[item])
        return (round(inner.exact), 1) if inner.parts and not inner.unpriced else None


def kit_cost_rows(*, kit_code: str = "") -> list[KitCostRow]:
    """Return the offered kits, or one, with what they and their lots cost; five statements."""
    currency = site_settings().currency
    kits = Kit.objects.filter(offered=True).select_related("item").order_by("item__code")
    if kit_code:
        kits = kits.filter(item__code=kit_code)
    found = list(kits)
    standard = standard_costs([kit.pk for kit in found])
    lots: dict[int, list[Lot]] = defaultdict(list)
    packed = Lot.objects.filter(item__in=[kit.item_id for kit in found], cost_quantity__gt=0)
    for lot in packed.order_by("-received_on", "-pk"):
        lots[lot.item_id].append(lot)
    return [_row(kit, standard[kit.pk], lots[kit.item_id], currency) for kit in found]


def _row(kit: Kit, standard: StandardCost, lots: Sequence[Lot], currency: str) -> KitCostRow:
    rows = tuple(_lot(kit, standard, lot) for lot in lots)
    kits = sum(row.kits for row in rows)
    share = margin_share(kit.price, standard.exact)
    return KitCostRow(
        kit_id=kit.pk,
        kit_code=kit.item.code,
        kit_name=kit.item.name,
        price=kit.price,
        standard=standard.cost,
        unpriced=standard.unpriced,
        margin=kit.price - standard.cost if kit.price else None,
        share=share,
        working=kit_cost(standard.parts, currency=currency),
        margin_working=(
            margin(kit.price, standard.exact, currency=currency) if kit.price else None
        ),
        lots=rows,
        least=min((row.cost for row in rows), default=None),
        most=max((row.cost for row in rows), default=None),
        mean=in_cents(Fraction(sum(row.cost * row.kits for row in rows), kits)) if kits else None,
    )


def in_cents(exact: Fraction) -> int:
    """Return money in ten-thousandths, rounded to whole cents."""
    return round(exact / CENT) * CENT


def _lot(kit: Kit, standard: StandardCost, lot: Lot) -> KitLotCostRow:
    packed = Fraction(lot.cost_amount, lot.cost_quantity)
    exact = packed + standard.at_dispatch
    cost = in_cents(exact)
    return KitLotCostRow(
        lot_id=lot.pk,
        lot_code=lot.code,
        packed_on=lot.received_on,
        kits=lot.cost_quantity,
        packed=in_cents(packed),
        added=in_cents(standard.at_dispatch),
        cost=cost,
        margin=kit.price - cost if kit.price else None,
        share=margin_share(kit.price, exact),
    )
