"""Customer orders for reading: what is promised to whom, and how far it is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import cast

from django.db.models import Case, Prefetch, Q, QuerySet, When

from boxwort.quantities import Measure
from inventory.models import Item
from planning.models import CustomerOrder, CustomerOrderState, OrderLine
from recipes.models import Kit, KitBillLine, Part

ALL = "all"


@dataclass(frozen=True, kw_only=True)
class CustomerLineRow:
    """A line of an order; an extra has an item alone, and is not crushed or whole.

    ``crushed``: how the grain goes out, None where it is packed ahead. Quantities are kits, or
    whole units of stock of an extra; ``price`` in ten-thousandths, of one kit or the whole extra.
    """

    id: int
    kit_id: int | None
    item_id: int
    code: str
    name: str
    yeast_id: int | None
    yeast_code: str
    yeast_name: str
    crushed: bool | None
    measure: str
    quantity: int
    dispatched: int
    price: int

    @property
    def is_kit(self) -> bool:
        """Whether it is of kits."""
        return self.kit_id is not None

    @property
    def left(self) -> int:
        """What has still to leave."""
        return self.quantity - self.dispatched

    @property
    def value(self) -> int:
        """What the line is worth, in ten-thousandths."""
        return self.price * self.quantity if self.is_kit else self.price


@dataclass(frozen=True, kw_only=True)
class CustomerOrderRow:
    """An order; ``late`` where it should have left before the day it is read on."""

    id: int
    version: int
    code: str
    customer: str
    zone_code: str
    zone_name: str
    promised_on: date
    state: str
    note: str
    late: bool
    lines: tuple[CustomerLineRow, ...]

    @property
    def state_words(self) -> str:
        """The state, in words."""
        if self.state == CustomerOrderState.OPEN and self.begun:
            return "Part dispatched"
        return str(CustomerOrderState(self.state).label)

    @property
    def is_open(self) -> bool:
        """Whether something of it has still to leave."""
        return self.state == CustomerOrderState.OPEN

    @property
    def begun(self) -> bool:
        """Whether something of it has left."""
        return any(line.dispatched for line in self.lines)

    @property
    def kits(self) -> int:
        """The kits ordered."""
        return sum(line.quantity for line in self.lines if line.is_kit)

    @property
    def kits_left(self) -> int:
        """The kits that have still to leave."""
        return sum(line.left for line in self.lines if line.is_kit) if self.is_open else 0

    @property
    def extras(self) -> int:
        """How many extras go beside the kits."""
        return sum(1 for line in self.lines if not line.is_kit)

    @property
    def value(self) -> int:
        """What the order is worth, in ten-thousandths."""
        return sum(line.value for line in self.lines)


def customer_order_rows(
    on: date, *, state: str = CustomerOrderState.OPEN, search: str = ""
) -> list[CustomerOrderRow]:
    """Return orders, the open ones first by promised day; two statements.

    ``search`` is found in the code, the customer, the note, or what is ordered.
    """
    orders = _in_full()
    if state != ALL:
        orders = orders.filter(state=state)
    for word in search.split():
        orders = orders.filter(pk__in=_found(word))
    return [_row(order, on) for order in orders]


def customer_order(order_id: int, on: date) -> CustomerOrderRow:
    """Return one order; two statements.

    Raises
    ------
    CustomerOrder.DoesNotExist: there is no such order.
    """
    return _row(_in_full().get(pk=order_id), on)


def orderable_kits() -> list[Kit]:
    """Return the kits that may be ordered, by name; one statement."""
    kits = Kit.objects.filter(offered=True).select_related("item")
    return list(kits.order_by("item__name", "item__code"))


def yeast_choices() -> list[Item]:
    """Return the yeasts that may be chosen for some kit, by name; one statement."""
    chosen = KitBillLine.objects.filter(
        is_yeast_option=True, kit__offered=True, kit__yeast_part=Part.DISPATCH
    )
    return list(Item.objects.filter(pk__in=chosen.values("item_id")).order_by("name"))


def _in_full() -> QuerySet[CustomerOrder]:
    lines = OrderLine.objects.select_related("kit__item", "item", "yeast").order_by("position")
    open_first = Case(When(state=CustomerOrderState.OPEN, then=0), default=1)
    return (
        CustomerOrder.objects.select_related("zone")
        .prefetch_related(Prefetch("lines", lines))
        .order_by(open_first, "promised_on", "code")
    )


def _found(word: str) -> QuerySet[CustomerOrder]:
    wanted = Q(code__icontains=word) | Q(customer__icontains=word) | Q(note__icontains=word)
    for of in ("kit__item", "item", "yeast"):
        wanted |= Q(**{f"lines__{of}__code__icontains": word})
        wanted |= Q(**{f"lines__{of}__name__icontains": word})
    return CustomerOrder.objects.filter(wanted).order_by().values("pk")  # type: ignore[return-value]


def _row(order: CustomerOrder, on: date) -> CustomerOrderRow:
    return CustomerOrderRow(
        id=order.pk,
        version=order.version,
        code=order.code,
        customer=order.customer,
        zone_code=order.zone.code if order.zone else "",
        zone_name=order.zone.name if order.zone else "",
        promised_on=order.promised_on,
        state=order.state,
        note=order.note,
        late=order.state == CustomerOrderState.OPEN and order.promised_on < on,
        lines=tuple(_line(line) for line in order.lines.all()),
    )


def _line(line: OrderLine) -> CustomerLineRow:
    item = line.kit.item if line.kit else cast("Item", line.item)  # a constraint says so
    to_order = line.kit is not None and line.kit.grain_part == Part.DISPATCH
    return CustomerLineRow(
        id=line.pk,
        kit_id=line.kit_id,
        item_id=item.pk,
        code=item.code,
        name=item.name,
        yeast_id=line.yeast_id,
        yeast_code=line.yeast.code if line.yeast else "",
        yeast_name=line.yeast.name if line.yeast else "",
        crushed=line.crushed if to_order else None,
        measure=Measure.COUNT if line.kit else item.measure,
        quantity=line.quantity,
        dispatched=line.dispatched,
        price=line.price,
    )
