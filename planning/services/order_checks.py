"""What a customer may be promised: each fault of an order is a refusal with its remedy."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils import timezone

from boxwort.accounts.queries import site_settings
from boxwort.errors import Refusal
from boxwort.figures import on_date
from inventory.models import Item, ItemKind
from inventory.services.entries import check_text
from planning.models import DispatchZone
from planning.queries.routes import route_of, working_days
from recipes.models import MOST_KITS, Kit, KitBillLine, Part

FARTHEST = timedelta(days=10 * 366)
MOST_STOCK = 10**15
CUSTOMER_LENGTH = 120
NOTE_LENGTH = 200


@dataclass(frozen=True, kw_only=True)
class LineAsked:
    """Kits of one kind with their options, or so much of an item beside them.

    ``quantity`` is kits, or whole units of stock. No ``yeast``: the usual one. ``crushed``: how the
    grain goes out, where it is added at dispatch. ``price``, in ten-thousandths, is of one kit or
    of the whole extra; none: what the kit's list says, and nothing for an extra.
    """

    quantity: int
    kit: Kit | None = None
    item: Item | None = None
    yeast: Item | None = None
    crushed: bool = True
    price: int | None = None

    @property
    def code(self) -> str:
        """The code of what is ordered."""
        thing = self.kit.item if self.kit else self.item
        return thing.code if thing else ""


def check_words(customer: str, note: str, promised_on: date) -> None:
    """Refuse an order that says no customer, or a day that can only be a slip of the pen."""
    if not customer.strip():
        raise Refusal(
            "customer-missing", "Nobody is named as the customer.", "Write who ordered it."
        )
    check_text(customer, CUSTOMER_LENGTH, "The customer's name")
    check_text(note, NOTE_LENGTH, "The note")
    if abs(promised_on - timezone.localdate()) > FARTHEST:
        raise Refusal(
            "order-too-far-off",
            f"{promised_on} is more than ten years away.",
            "Check the year of the promised day.",
        )


def check_zone(zone: DispatchZone | None, promised_on: date) -> None:
    """Refuse a zone that takes no orders, and a day on which nothing leaves for it."""
    if zone is not None and not zone.active:
        raise Refusal(
            "zone-not-in-use",
            f"The zone {zone.name} is not in use.",
            "Choose another zone, or put this one in use again.",
        )
    site = site_settings()
    route, calendar = route_of(zone, site), working_days(site)
    if route.ships_on(promised_on, calendar):
        return
    where = f"to {zone.name} " if zone else ""
    following = route.ship_day(promised_on, calendar)
    if following is None:
        remedy = "Nothing leaves within a year after it; look at the zone and the days off."
    else:
        remedy = f"The next day is {on_date(following)}."
    raise Refusal(
        "zone-does-not-ship",
        f"Nothing leaves {where}on {promised_on:%A}, {on_date(promised_on)}.",
        remedy,
        details={"next_day": following and following.isoformat()},
    )


def check_lines(lines: Sequence[LineAsked], promised_on: date) -> None:
    """Refuse lines that no order can have.

    Each refusal names the ``line`` by its number from 1 in its details.
    """
    if not lines:
        raise Refusal(
            "order-lines-missing", "Nothing is ordered.", "Add at least one kit or extra."
        )
    kits = {line.kit.pk for line in lines if line.kit}
    options = _yeast_options(kits)
    for number, line in enumerate(lines, start=1):
        for code, what, remedy in _faults(line, promised_on, options):
            raise Refusal(code, what, remedy, details={"line": number})
    seen = Counter(_same(line) for line in lines)
    for number, line in enumerate(lines, start=1):
        if seen[_same(line)] > 1:
            raise Refusal(
                "order-line-twice",
                f"{line.code} stands twice in the order with the same options.",
                "Add the two up into one line.",
                details={"line": number},
            )


_Fault = tuple[str, str, str]
_Options = dict[int, list[int]]


def _same(line: LineAsked) -> tuple[object, ...]:
    return line.code, line.yeast and line.yeast.pk, line.crushed


def _yeast_options(kits: Iterable[int]) -> _Options:
    """Return the yeasts of kits, the usual one first; one statement."""
    found: _Options = {}
    rows = KitBillLine.objects.filter(kit__in=kits, is_yeast_option=True)
    for kit_id, item_id in rows.order_by("kit", "position").values_list("kit_id", "item_id"):
        found.setdefault(kit_id, []).append(item_id)
    return found


def _faults(line: LineAsked, promised_on: date, options: _Options) -> Iterable[_Fault]:
    most = MOST_KITS if line.kit else MOST_STOCK
    if not 0 < line.quantity <= most:
        what = f"{line.quantity} of {line.code} are ordered."
        yield "order-quantity-not-possible", what, f"Give a quantity from 1 to {most}."
    if line.price is not None and line.price < 0:
        yield "price-negative", f"{line.code} has a price below zero.", "Give zero or more."
    if line.kit is not None:
        yield from _kit_faults(line, line.kit, promised_on, options)
    else:
        yield from _extra_faults(line)


def _kit_faults(
    line: LineAsked, kit: Kit, promised_on: date, options: _Options
) -> Iterable[_Fault]:
    code = kit.item.code
    if not kit.offered:
        yield "kit-not-offered", f"{code} is not offered.", "Order a kit that is, or offer it."
    if kit.last_sale_on is not None and promised_on > kit.last_sale_on:
        what = f"{code} is sold until {on_date(kit.last_sale_on)}."
        yield "kit-last-sold", what, "Promise an earlier day, or order another kit."
    yeasts = options.get(kit.pk, [])
    if line.yeast is not None and line.yeast.pk not in yeasts:
        what = f"{line.yeast.name} is no yeast option of {code}."
        yield "yeast-not-an-option", what, "Choose one of its options, or none for the usual one."
    packed = kit.yeast_part == Part.PACKED
    if line.yeast is not None and packed and line.yeast.pk != yeasts[0]:
        what = f"{code} is packed with its usual yeast in the box."
        yield "yeast-packed-ahead", what, "Leave the yeast to the usual one."
    if not line.crushed and kit.grain_part != Part.DISPATCH:
        what = f"The grain of {code} is packed ahead, crushed."
        yield "grain-packed-ahead", what, "Order it crushed, or a kit that is crushed to order."


def _extra_faults(line: LineAsked) -> Iterable[_Fault]:
    item = line.item
    if item is None:
        yield "order-line-empty", "A line names neither kit nor item.", "Say what is ordered."
        return
    if line.yeast is not None:
        what = f"A yeast is chosen for {item.code}, which is no kit."
        yield "yeast-without-kit", what, "Order the yeast as a line of its own."
    if item.kind == ItemKind.KIT:
        yield "extra-is-a-kit", f"{item.code} is a kit.", "Order it as kits, with its options."
    if not item.active:
        yield "item-not-in-use", f"{item.code} is not in use.", "Order another item."
