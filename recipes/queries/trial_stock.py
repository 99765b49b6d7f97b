"""The lots that a trial batch may be brewed from: for each line, first expired first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from boxwort.quantities import Measure
from inventory.models import Lot
from inventory.queries.lots import UsableLot, usable_lots
from recipes.models import TrialBatch
from recipes.queries.kit_designs import scaled_design

_MOST_LOTS = 6


@dataclass(frozen=True, kw_only=True)
class StockOffer:
    """A lot that a line may be taken from, and how much of it is proposed, in units of stock."""

    lot: UsableLot
    proposed: int


@dataclass(frozen=True, kw_only=True)
class StockRow:
    """One line of a trial: what it wants, and the lots that hold it; ``short`` is what is lacking.

    Yeasts beside the usual one are offered, and none of them is proposed.
    """

    key: str
    item_code: str
    item_name: str
    measure: str
    wanted: int
    offers: tuple[StockOffer, ...]
    short: int


def trial_stock(trial: TrialBatch) -> list[StockRow]:
    """Return the lines of a trial's method with lots that were usable on the day it was brewed.

    Raises
    ------
    Refusal: the method cannot be brewed at its size.
    """
    design = scaled_design(trial.method_id, trial.method.finished_volume)
    lots = usable_lots({row.item_id for row in design.rows}, trial.brewed_on)
    taken: Counter[int] = Counter()
    rows, pitched = [], False
    for row in design.rows:
        wanted = 0 if row.is_yeast_option and pitched else row.packed
        pitched = pitched or row.is_yeast_option
        offers = tuple(_offers(lots.get(row.item_id, ()), wanted, taken))
        rows.append(
            StockRow(
                key=row.key,
                item_code=row.item_code,
                item_name=row.item_name,
                measure=row.measure,
                wanted=wanted,
                offers=offers,
                short=wanted - sum(offer.proposed for offer in offers),
            )
        )
    return rows


def lot_measures(lot_ids: Iterable[int]) -> dict[int, Measure]:
    """Return the measure of each of these lots that there is; one statement."""
    lots = Lot.objects.filter(pk__in=list(lot_ids))
    return {pk: Measure(measure) for pk, measure in lots.values_list("pk", "item__measure")}


def _offers(lots: Iterable[UsableLot], wanted: int, taken: Counter[int]) -> Iterator[StockOffer]:
    """Yield lots until the line is covered, and some more to choose from."""
    for lot in list(lots)[:_MOST_LOTS]:
        proposed = min(wanted, lot.available - taken[lot.lot_id])
        taken[lot.lot_id] += proposed
        wanted -= proposed
        yield StockOffer(lot=lot, proposed=proposed)
