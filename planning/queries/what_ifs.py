"""What-ifs in words, and plans side by side: as it is, and as it would be."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from boxwort.accounts.queries import site_settings
from boxwort.figures import on_date, share
from boxwort.quantities import Measure
from inventory.models import Lot, Supplier
from planning.engine.plan import PlanResult, planned
from planning.engine.plan_late import short_kits
from planning.engine.what_if import (
    Change,
    OtherDemand,
    OtherLeadTime,
    OtherLotAlpha,
    OtherLotDate,
    changed,
)
from planning.models import ChangeKind, WhatIf, WhatIfChange
from planning.queries.plan_figures import plan_figures
from planning.queries.plan_input import plan_input
from recipes.models import Kit


@dataclass(frozen=True, kw_only=True)
class ChangeRow:
    """One change, in words."""

    id: int
    kind: str
    kind_name: str
    about: str
    said: str


@dataclass(frozen=True, kw_only=True)
class WhatIfRow:
    """A what-if with its changes."""

    id: int
    version: int
    name: str
    note: str
    changes: tuple[ChangeRow, ...]


@dataclass(frozen=True, kw_only=True)
class FigureRow:
    """One figure of each plan; money is ten-thousandths."""

    name: str
    unit: str
    values: tuple[int, ...]

    @property
    def differs(self) -> bool:
        """Whether the plans are not all alike in it."""
        return len(set(self.values)) > 1


@dataclass(frozen=True, kw_only=True)
class ItemRow:
    """What each plan orders of an item: whole units, and by when the first must be ordered."""

    item_code: str
    item_name: str
    measure: Measure
    quantities: tuple[int, ...]
    order_by: tuple[date | None, ...]

    @property
    def ordered(self) -> tuple[tuple[int, date | None], ...]:
        """Quantity and first day of each plan."""
        return tuple(zip(self.quantities, self.order_by, strict=True))

    @property
    def differs(self) -> bool:
        """Whether the plans are not all alike in it."""
        return len(set(self.ordered)) > 1


@dataclass(frozen=True, kw_only=True)
class LateRow:
    """Kits that one plan or another has not in time, and how many each."""

    kit_code: str
    kit_name: str
    kits: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """Plans side by side; the first is as it is."""

    on: date
    currency: str
    names: tuple[str, ...]
    figures: tuple[FigureRow, ...]
    late: tuple[LateRow, ...]
    items: tuple[ItemRow, ...]

    @property
    def same(self) -> tuple[str, ...]:
        """The plans that are no different from the one as it is."""
        rows = (
            *(row.values for row in self.figures),
            *(row.kits for row in self.late),
            *(row.ordered for row in self.items),
        )
        return tuple(
            name
            for place, name in enumerate(self.names)
            if place and all(row[place] == row[0] for row in rows)
        )


FIGURES = (
    ("runs", "Runs suggested", ""),
    ("kits", "Kits suggested", "kits"),
    ("late_kits", "Kits not there when wanted", "kits"),
    ("purchases", "Orders to place", ""),
    ("past_due", "of which past due", ""),
    ("cost", "Cost of the orders", "money"),
    ("unoffered", "Items that nobody offers", ""),
)


def what_if_rows(ids: Iterable[int] = ()) -> tuple[WhatIfRow, ...]:
    """Return what-ifs by name, all or some, their changes in words; statements do not grow."""
    rows = WhatIf.objects.prefetch_related("changes")
    wanted = list(ids)
    found = list(rows.filter(pk__in=wanted) if wanted else rows)
    names = _names([change for row in found for change in row.changes.all()])
    return tuple(
        WhatIfRow(
            id=row.pk,
            version=row.version,
            name=row.name,
            note=row.note,
            changes=tuple(_change_row(change, names) for change in row.changes.all()),
        )
        for row in found
    )


def comparison(on: date, what_ifs: Sequence[WhatIf]) -> Comparison:
    """Return the plan as it is beside the plans as they would be; reads the stock once."""
    changes = {
        row.pk: [_change(change) for change in row.changes.all()]
        for row in WhatIf.objects.filter(pk__in=[row.pk for row in what_ifs]).prefetch_related(
            "changes"
        )
    }
    kits = {
        change.kit_id
        for found in changes.values()
        for change in found
        if isinstance(change, OtherDemand)
    }
    given = plan_input(on, also_kits=kits)
    plans = [planned(given), *(planned(changed(given, changes[row.pk])) for row in what_ifs)]
    figures = [plan_figures(plan) for plan in plans]
    return Comparison(
        on=on,
        currency=site_settings().currency,
        names=("As it is", *(row.name for row in what_ifs)),
        figures=tuple(
            FigureRow(name=name, unit=unit, values=tuple(found[key] for found in figures))
            for key, name, unit in FIGURES
        ),
        late=_late(plans),
        items=_items(plans),
    )


def _late(plans: Sequence[PlanResult]) -> tuple[LateRow, ...]:
    found: dict[int, list[int]] = defaultdict(lambda: [0] * len(plans))
    for place, plan in enumerate(plans):
        for row in short_kits(plan):
            found[row.item][place] += row.kits
    items = plans[0].given.items
    return tuple(
        LateRow(kit_code=items[item].code, kit_name=items[item].name, kits=tuple(kits))
        for item, kits in sorted(found.items(), key=lambda pair: items[pair[0]].code)
    )


def _items(plans: Sequence[PlanResult]) -> tuple[ItemRow, ...]:
    """Return what the plans order otherwise."""
    quantities: dict[int, list[int]] = defaultdict(lambda: [0] * len(plans))
    days: dict[int, list[date | None]] = defaultdict(lambda: [None] * len(plans))
    for place, plan in enumerate(plans):
        for buy in plan.buys:
            quantities[buy.item][place] += buy.quantity
            known = days[buy.item][place]
            days[buy.item][place] = min(known or buy.days.order_by, buy.days.order_by)
    items = plans[0].given.items
    rows = (
        ItemRow(
            item_code=items[item].code,
            item_name=items[item].name,
            measure=items[item].measure,
            quantities=tuple(found),
            order_by=tuple(days[item]),
        )
        for item, found in sorted(quantities.items(), key=lambda pair: items[pair[0]].code)
    )
    return tuple(row for row in rows if row.differs)


def _change(row: WhatIfChange) -> Change:
    values = row.values
    match ChangeKind(row.kind):
        case ChangeKind.DEMAND:
            week = values.get("week")
            return OtherDemand(
                kit_id=row.about,
                week_on=date.fromisoformat(week) if week else None,
                kits=values.get("kits"),
                times=values.get("times", 1.0),
            )
        case ChangeKind.LOT_DATE:
            day = date.fromisoformat(values["best_before_on"])
            return OtherLotDate(lot_id=row.about, last_on=day)
        case ChangeKind.LOT_ALPHA:
            return OtherLotAlpha(lot_id=row.about, alpha=values["alpha"])
        case ChangeKind.LEAD_TIME:
            return OtherLeadTime(supplier_id=row.about, lead_days=values["lead_days"])


_Names = Mapping[str, Mapping[int, str]]


def _names(changes: Sequence[WhatIfChange]) -> _Names:
    """Return what the changes are about, by kind and number."""

    def about(*kinds: ChangeKind) -> list[int]:
        return [change.about for change in changes if change.kind in kinds]

    kits = Kit.objects.filter(pk__in=about(ChangeKind.DEMAND))
    lots = Lot.objects.filter(pk__in=about(ChangeKind.LOT_DATE, ChangeKind.LOT_ALPHA))
    suppliers = Supplier.objects.filter(pk__in=about(ChangeKind.LEAD_TIME))
    by_lot = {
        pk: f"{code} ({name})" for pk, code, name in lots.values_list("pk", "code", "item__name")
    }
    return {
        ChangeKind.DEMAND: dict(kits.values_list("pk", "item__name")),
        ChangeKind.LOT_DATE: by_lot,
        ChangeKind.LOT_ALPHA: by_lot,
        ChangeKind.LEAD_TIME: dict(suppliers.values_list("pk", "name")),
    }


def _change_row(row: WhatIfChange, names: _Names) -> ChangeRow:
    said: dict[str, Callable[[WhatIfChange], str]] = {
        ChangeKind.DEMAND: _demand_said,
        ChangeKind.LOT_DATE: lambda row: (
            f"best before {on_date(date.fromisoformat(row.values['best_before_on']))}"
        ),
        ChangeKind.LOT_ALPHA: lambda row: f"{share(row.values['alpha'])} alpha acid",
        ChangeKind.LEAD_TIME: lambda row: f"{row.values['lead_days']} days of lead time",
    }
    return ChangeRow(
        id=row.pk,
        kind=row.kind,
        kind_name=ChangeKind(row.kind).label,
        about=names[row.kind].get(row.about, "not there any more"),
        said=said[row.kind](row),
    )


def _demand_said(row: WhatIfChange) -> str:
    week = row.values.get("week")
    when = f"in the week of {on_date(date.fromisoformat(week))}" if week else "in every week"
    if "kits" in row.values:
        return f"a forecast of {row.values['kits']:,} kits {when}"
    return f"{row.values['times']:g} times the forecast {when}"
