"""Demand for kits: orders and forecasts as they are told."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from boxwort.accounts.models import User
from boxwort.accounts.services import service, write_history
from boxwort.errors import Refusal
from planning.models import Demand, DemandSource
from planning.queries.demand import monday_of
from recipes.models import Kit


@dataclass(frozen=True, kw_only=True)
class DemandFacts:
    """Kits wanted by a day; zero kits takes an earlier demand away.

    A forecast is kept on the Monday of its week. ``reference`` names the customer's order.
    """

    kit: Kit
    wanted_on: date
    kits: int
    source: DemandSource = DemandSource.FORECAST
    reference: str = ""

    @property
    def kept_on(self) -> date:
        """The day it is kept under."""
        if self.source is DemandSource.FORECAST:
            return monday_of(self.wanted_on)
        return self.wanted_on


@service
def write_demand(*, by: User, rows: Iterable[DemandFacts]) -> int:
    """Write demand, replacing what was said before of the same kit, day, source and reference.

    Returns the number of demands that were added, changed or taken away.

    Raises
    ------
    Refusal: ``demand-below-zero`` or ``demand-twice``.
    """
    facts = list(rows)
    _refuse_impossible(facts)
    standing = _standing(facts)
    changed = 0
    for row in facts:
        changed += _write(by, row, standing.get(_key(row)))
    return changed


_Key = tuple[int, date, str, str]


def _key(row: DemandFacts) -> _Key:
    return row.kit.pk, row.kept_on, row.source.value, row.reference


def _refuse_impossible(rows: Sequence[DemandFacts]) -> None:
    for row in rows:
        if row.kits < 0:
            raise Refusal(
                "demand-below-zero",
                f"{row.kits} of {row.kit.item.code} are wanted on {row.wanted_on}.",
                "Give a number of kits, or zero to take the demand away.",
            )
    for key, times in Counter(_key(row) for row in rows).items():
        if times > 1:
            row = next(row for row in rows if _key(row) == key)
            when = "the week of" if row.source is DemandSource.FORECAST else "by"
            raise Refusal(
                "demand-twice",
                f"{row.kit.item.code} {when} {row.kept_on} is written {times} times.",
                "Add the kits up into one row, or give each order its own reference.",
            )


def _standing(rows: Sequence[DemandFacts]) -> dict[_Key, Demand]:
    """Return the demand already written for these kits and days, by its key."""
    wanted = Q(kit__in={row.kit.pk for row in rows}, wanted_on__in={row.kept_on for row in rows})
    return {
        (demand.kit_id, demand.wanted_on, demand.source, demand.reference): demand
        for demand in Demand.objects.select_for_update().filter(wanted)
    }


def _write(by: User, row: DemandFacts, standing: Demand | None) -> bool:
    before = standing.kits if standing else 0
    if before == row.kits:
        return False
    demand = standing or Demand(
        kit=row.kit, wanted_on=row.kept_on, source=row.source, reference=row.reference
    )
    if row.kits:
        demand.kits = row.kits
        demand.full_clean(validate_unique=False, validate_constraints=False)
        demand.save()
    write_history(
        by=by,
        thing=demand,
        action="wrote demand" if row.kits else "took demand away",
        before={"kits": before},
        after={"kits": row.kits, "kit": row.kit.item.code, "wanted_on": row.kept_on},
    )
    if not row.kits:
        demand.delete()
    return True
