"""What-ifs: named sets of changes to plan with. They touch nothing but themselves."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Any

from boxwort.accounts.models import User
from boxwort.accounts.services import change_version, service, write_history
from boxwort.errors import Refusal
from inventory.models import Item, ItemKind, Lot, Supplier
from inventory.services.entries import REASON_LENGTH, check_text
from planning.models import ChangeKind, WhatIf, WhatIfChange
from planning.queries.demand import monday_of
from recipes.models import MOST_KITS, Kit

NAME_LENGTH = 80
MOST_CHANGES = 50
MOST_LEAD_DAYS = 365
MOST_TIMES = 20.0


@dataclass(frozen=True, kw_only=True)
class Other:
    """One thing that would be otherwise; ``values`` as of :class:`planning.models.WhatIfChange`."""

    kind: ChangeKind
    about: int
    values: dict[str, Any] = field(default_factory=dict)


def other_demand(
    kit: Kit, *, week: date | None = None, kits: int | None = None, times: float = 1.0
) -> Other:
    """Return another forecast of a kit in a week, or in all; so many kits, or times as many."""
    values: dict[str, Any] = {"week": monday_of(week).isoformat() if week else ""}
    values |= {"times": times} if kits is None else {"kits": kits}
    return Other(kind=ChangeKind.DEMAND, about=kit.pk, values=values)


def other_lot_date(lot: Lot, day: date) -> Other:
    """Return another best-before day of a lot."""
    values = {"best_before_on": day.isoformat()}
    return Other(kind=ChangeKind.LOT_DATE, about=lot.pk, values=values)


def other_lot_alpha(lot: Lot, alpha: float) -> Other:
    """Return another alpha acid of a hop lot, a share."""
    return Other(kind=ChangeKind.LOT_ALPHA, about=lot.pk, values={"alpha": alpha})


def other_lead_time(supplier: Supplier, lead_days: int) -> Other:
    """Return another lead time of a supplier, in days."""
    return Other(kind=ChangeKind.LEAD_TIME, about=supplier.pk, values={"lead_days": lead_days})


@service
def begin_what_if(*, by: User, name: str, note: str = "") -> WhatIf:
    """Begin a what-if without changes.

    Raises
    ------
    Refusal: ``what-if-unnamed`` or ``what-if-name-taken``.
    """
    name = name.strip()
    if not name or len(name) > NAME_LENGTH:
        raise Refusal(
            "what-if-unnamed",
            "The what-if has no name, or too long a one.",
            f"Name what would be otherwise in at most {NAME_LENGTH} characters.",
        )
    if WhatIf.objects.filter(name=name).exists():
        raise Refusal(
            "what-if-name-taken",
            f"There is a what-if called {name}.",
            "Give this one another name, or change that one.",
        )
    check_text(note, REASON_LENGTH, "The note")
    made = WhatIf.objects.create(name=name, note=note)
    write_history(by=by, thing=made, action="begin what-if", after={"name": name})
    return made


@service
def add_change(*, by: User, what_if: WhatIf, expected: int, other: Other) -> WhatIfChange:
    """Add a change; what was said before of the same thing is replaced.

    Raises
    ------
    Refusal: ``change-impossible``, ``too-many-changes``, or ``changed-by-someone-else``.
    """
    _check(other)
    change_version(by=by, thing=what_if, expected=expected, action="change what-if", changes={})
    same = WhatIfChange.objects.filter(what_if=what_if, kind=other.kind, about=other.about)
    for row in same:
        if row.values.get("week") == other.values.get("week"):
            row.delete()
    if WhatIfChange.objects.filter(what_if=what_if).count() >= MOST_CHANGES:
        raise Refusal(
            "too-many-changes",
            f"{what_if.name} holds {MOST_CHANGES} changes already.",
            "Take some out, or begin another what-if.",
        )
    made = WhatIfChange.objects.create(
        what_if=what_if, kind=other.kind, about=other.about, values=other.values
    )
    write_history(
        by=by,
        thing=what_if,
        action="add change",
        after={"kind": other.kind, "about": other.about, **other.values},
    )
    return made


@service
def take_change_out(*, by: User, what_if: WhatIf, expected: int, change_id: int) -> None:
    """Take a change out again.

    Raises
    ------
    Refusal: ``change-gone`` or ``changed-by-someone-else``.
    """
    change_version(by=by, thing=what_if, expected=expected, action="change what-if", changes={})
    row = WhatIfChange.objects.filter(what_if=what_if, pk=change_id).first()
    if row is None:
        raise Refusal(
            "change-gone",
            f"{what_if.name} has no such change.",
            "Open it again: somebody may have taken it out.",
        )
    write_history(
        by=by,
        thing=what_if,
        action="take change out",
        before={"kind": row.kind, "about": row.about, **row.values},
    )
    row.delete()


@service
def drop_what_if(*, by: User, what_if: WhatIf, expected: int) -> None:
    """Drop a what-if with its changes; nothing else knew of it.

    Raises
    ------
    Refusal: ``changed-by-someone-else``.
    """
    change_version(by=by, thing=what_if, expected=expected, action="drop what-if", changes={})
    what_if.delete()


def _check(other: Other) -> None:
    values = other.values
    match other.kind:
        case ChangeKind.DEMAND:
            known = Kit.objects.filter(pk=other.about, offered=True).exists()
            fits = 0 <= values.get("kits", 0) <= MOST_KITS
            fits = fits and 0 <= values.get("times", 1.0) <= MOST_TIMES
            remedy = f"Write 0 to {MOST_KITS:,} kits, or at most {MOST_TIMES:g} times as many."
        case ChangeKind.LOT_DATE:
            known, fits = Lot.objects.filter(pk=other.about).exists(), True
            remedy = "Choose a lot that is on hand."
        case ChangeKind.LOT_ALPHA:
            hops = Item.objects.filter(kind=ItemKind.HOP)
            known = Lot.objects.filter(pk=other.about, item__in=hops).exists()
            fits = 0 < values.get("alpha", 0) < 0.35
            remedy = "Write the alpha acid of a hop lot, above 0 and below 35 %."
        case ChangeKind.LEAD_TIME:
            known = Supplier.objects.filter(pk=other.about).exists()
            fits = 0 <= values.get("lead_days", 0) <= MOST_LEAD_DAYS
            remedy = f"Write 0 to {MOST_LEAD_DAYS} days."
    if not (known and fits):
        raise Refusal("change-impossible", "Nothing can be planned with that change.", remedy)
