"""A buying list that came back, compared with the orders as they stand: what it would change."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from boxwort.accounts.queries import site_settings
from boxwort.errors import Refusal
from boxwort.quantities import Measure, stocked
from boxwort.sheets.forms import Row
from boxwort.sheets.reading import Reading, tables_read
from inventory.models import Contract, SupplierItem
from planning.models import OrderState, PurchaseLine, PurchaseOrder
from planning.queries.buying_lists import list_form, open_orders
from planning.queries.list_changes import ListChange, ListDifference, Terms
from planning.queries.offered_prices import price_of_packs

_NEAR = Decimal("0.0001")  # a quantity in pounds is written rounded


def list_difference(content: bytes, on: date) -> ListDifference:
    """Return what a list would change as of a day; statements do not grow with its rows.

    Raises
    ------
    Refusal: ``no-buying-list``, or the file is no workbook.
    """
    form = list_form(site_settings().currency)
    reading = tables_read(content, form)
    if not reading.rows:
        raise Refusal(
            "no-buying-list",
            "No sheet of the file holds a purchase list or a list of orders.",
            "Send a list that was downloaded here, with its row of titles as it was.",
        )
    comparing = _Comparing(reading=reading, on=on)
    for name in reading.rows:
        for row in reading.sound(name):
            comparing.compare(row)
    comparing.add_dropped()
    return ListDifference(
        changes=tuple(comparing.changes),
        problems=tuple(reading.problems),
    )


@dataclass(kw_only=True)
class _Comparing:
    """The rows of a list beside the open orders and the offers."""

    reading: Reading
    on: date
    changes: list[ListChange] = field(default_factory=list)
    listed: dict[tuple[int, int], set[date | None]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        orders = open_orders()
        self.orders = {order.code: order for order in orders}
        drafts = [order for order in reversed(orders) if order.state == OrderState.DRAFT]
        self.drafts = {order.supplier_id: order for order in drafts}
        rows = [row for name in self.reading.rows for row in self.reading.sound(name)]
        asked = {row["offer"] for row in rows if row["offer"]}
        asked |= {line.offer_id for order in orders for line in order.lines.all()} - {None}
        called = {row["contract"] for row in rows if row["contract"]}
        self.contracts = {row.code: row for row in Contract.objects.filter(code__in=called)}
        offers = SupplierItem.objects.filter(pk__in=asked).select_related("item", "supplier")
        self.offers = {offer.pk: offer for offer in offers.prefetch_related("breaks")}
        self.named = Counter((row["order"], row["line"]) for row in rows if row["order"])

    def compare(self, row: Row) -> None:
        """Note what a row changes, or what is wrong with it."""
        change = self._ordered(row) if row["order"] else self._suggested(row)
        if change is not None and self._possible(row, change):
            self.changes.append(change)

    def _wrong(self, row: Row, name: str, what: str, remedy: str) -> None:
        row.sound = False
        self.reading.add(row, name, what, remedy)

    def _ordered(self, row: Row) -> ListChange | None:
        order = self.orders.get(row["order"])
        if order is None:
            what = f"No order {row['order']} is a draft or awaited."
            self._wrong(row, "order", what, "Remove the row: the order is over or unknown.")
        elif order.version != row["version"]:
            what = f"Order {order.code} has changed since this list was made."
            self._wrong(row, "version", what, "Download the list again and change that one.")
        elif self.named[row["order"], row["line"]] > 1:
            what = "Another row is for the same line of the order."
            self._wrong(row, "line", what, "Keep one of them.")
        else:
            return self._line(row, order)
        return None

    def _line(self, row: Row, order: PurchaseOrder) -> ListChange | None:
        lines = list(order.lines.all())
        number = row["line"] or 0
        line = lines[number - 1] if 0 < number <= len(lines) else None
        if line is None or line.item.code != row["item"]:
            what = f"Order {order.code} has no such line of {row['item']}."
            self._wrong(row, "line", what, "Put back what the list said.")
            return None
        was = _standing(line)
        now = _terms(row, was)
        sent = order.state != OrderState.DRAFT
        for name, what, remedy in _limits(line, was, now) if sent else ():
            self._wrong(row, name, what, remedy)
            return None
        return _of_line(
            order,
            line,
            place=(row.sheet, row.number),
            order_id=order.pk,
            now=now,
            offer_price=self._asked(line.offer_id, now),
        )

    def _suggested(self, row: Row) -> ListChange | None:
        offer = self.offers.get(row["offer"] or 0)
        if offer is None or offer.item.code != row["item"]:
            what = f"The row names neither an order nor an offer of {row['item']}."
            remedy = "Put back the number of the offer, or add the line to the draft here."
            self._wrong(row, "offer", what, remedy)
            return None
        if row["packs"] and row["expected_on"] is None:
            self._wrong(row, "expected_on", "The cell is empty.", "Write the day it is expected.")
            return None
        contract = self.contracts.get(row["contract"] or "")
        if row["contract"] and (contract is None or contract.offer_id != offer.pk):
            self._wrong(row, "contract", "No such contract is for this offer.", "Empty the cell.")
            return None
        standing = self._drafted(offer, row["need_by"])
        if standing is None and (sent := self._sent(offer, row)):
            what = f"Order {sent.code} was sent with these packs for this day."
            remedy = "Write 0 here; if as much is wanted once more, add it to the draft."
            self._wrong(row, "packs", what, remedy)
            return None
        was = _standing(standing) if standing else None
        now = _terms(row, was)
        self.listed.setdefault((offer.supplier_id, offer.item_id), set()).add(row["listed_to"])
        return ListChange(
            sheet=row.sheet,
            row=row.number,
            order_id=None,
            order_code="",
            version=0,
            is_sent=False,
            line_id=standing.pk if standing else None,
            supplier_id=offer.supplier_id,
            supplier_name=offer.supplier.name,
            offer_id=offer.pk,
            item_id=offer.item_id,
            item_code=offer.item.code,
            item_name=offer.item.name,
            measure=Measure(offer.item.measure),
            pack_quantity=offer.pack_quantity,
            was=was,
            now=now,
            need_by=row["need_by"],
            order_by=row["order_by"],
            runs=row["runs"],
            contract=contract,
            offer_price=self._asked(offer.pk, now),
        )

    def _drafted(self, offer: SupplierItem, need_by: date | None) -> PurchaseLine | None:
        """Return the line of the supplier's draft that a suggestion stands for already."""
        taken = {change.line_id for change in self.changes}
        for line in self._draft_lines(offer.supplier_id):
            if (line.offer_id, line.need_by) == (offer.pk, need_by) and line.pk not in taken:
                return line
        return None

    def _sent(self, offer: SupplierItem, row: Row) -> PurchaseOrder | None:
        """Return the order that was sent with just what a suggestion asks for."""
        quantity = (row["packs"] or 0) * offer.pack_quantity
        asked = (offer.pk, row["need_by"], quantity)
        for order in self.orders.values():
            if quantity and row["need_by"] and order.state != OrderState.DRAFT:
                lines = order.lines.all()
                if any((ln.offer_id, ln.need_by, ln.quantity) == asked for ln in lines):
                    return order
        return None

    def _draft_lines(self, supplier_id: int) -> Sequence[PurchaseLine]:
        order = self.drafts.get(supplier_id)
        return list(order.lines.all()) if order else []

    def add_dropped(self) -> None:
        """Note the lines of drafts whose items a suggestion names otherwise.

        What a list did not look as far ahead as to name stays as it is.
        """
        named = {(row.supplier_id, row.item_id) for row in self.changes if row.order_id is None}
        kept = {row.line_id for row in self.changes}
        for supplier_id in sorted({supplier for supplier, _ in named}):
            for line in self._draft_lines(supplier_id):
                if (supplier_id, line.item_id) in named and line.pk not in kept:
                    beyond = _is_beyond(line, self.listed[supplier_id, line.item_id])
                    now = _standing(line) if beyond else None
                    self.changes.append(_of_line(self.drafts[supplier_id], line, now=now))

    def _asked(self, offer_id: int | None, now: Terms | None) -> int | None:
        offer = self.offers.get(offer_id or 0)
        if offer is None or now is None or now.packs is None:
            return None
        breaks = [(step.from_packs, step.pack_price) for step in offer.breaks.all()]
        return price_of_packs(breaks, now.packs)

    def _possible(self, row: Row, change: ListChange) -> bool:
        """Return whether a row names no day that is over, and a quantity that is its packs'."""
        now = change.now
        if now is None:
            return True
        if now.expected_on < self.on and now != change.was:
            self._wrong(row, "expected_on", "This day is over.", "Write the day it can come.")
            return False
        if not _quantity_fits(row, change):
            what = "The quantity is not that of the packs."
            self._wrong(row, "quantity", what, "Change the packs; the quantity follows.")
            return False
        return True


def _is_beyond(line: PurchaseLine, listed: set[date | None]) -> bool:
    """Return whether a line need not be ordered by any day that rows of its item list up to."""
    days = [day for day in listed if day is not None]
    return line.order_by is not None and len(days) == len(listed) and line.order_by > max(days)


def _terms(row: Row, was: Terms | None) -> Terms | None:
    """Return what a row says; what it leaves empty stays as it was."""
    if row["packs"] is None and was is not None and was.packs is None:
        return Terms(packs=None, pack_price=was.pack_price, expected_on=_day(row, was))
    if not row["packs"]:
        return None
    price = row["pack_price"]
    return Terms(
        packs=row["packs"],
        pack_price=was.pack_price if price is None and was else price,
        expected_on=_day(row, was),
    )


def _day(row: Row, was: Terms | None) -> date:
    written = row["expected_on"]
    day: date = was.expected_on if was is not None and written is None else written
    return day


def _limits(line: PurchaseLine, was: Terms, now: Terms | None) -> Iterator[tuple[str, str, str]]:
    """Yield the column, what is wrong and what to do, of what a sent order cannot become."""
    if now is None:
        yield "packs", "The order was sent, so a line cannot be left out.", "End the line here."
    elif was.packs is None:
        if now.packs is not None:
            yield "packs", "The line was ordered without a pack.", "Empty the cell."
    elif now.packs is not None and line.pack_quantity:
        if now.packs > was.packs:
            yield "packs", f"{was.packs} packs were ordered.", "Order what is wanted beyond anew."
        if now.packs * line.pack_quantity < line.received:
            yield "packs", "More than that has come already.", "Write at least what has come."


def _standing(line: PurchaseLine) -> Terms:
    packs = line.quantity // line.pack_quantity if line.pack_quantity else None
    return Terms(packs=packs, pack_price=line.pack_price, expected_on=line.due_on)


def _of_line(
    order: PurchaseOrder,
    line: PurchaseLine,
    *,
    place: tuple[str, int] = ("", 0),
    order_id: int | None = None,
    now: Terms | None = None,
    offer_price: int | None = None,
) -> ListChange:
    """Return what becomes of a line that stands; by itself it is dropped."""
    return ListChange(
        sheet=place[0],
        row=place[1],
        order_id=order_id,
        order_code=order.code,
        version=order.version,
        is_sent=order.state != OrderState.DRAFT,
        line_id=line.pk,
        supplier_id=order.supplier_id,
        supplier_name=order.supplier.name,
        offer_id=line.offer_id,
        item_id=line.item_id,
        item_code=line.item.code,
        item_name=line.item.name,
        measure=Measure(line.item.measure),
        pack_quantity=line.pack_quantity,
        was=_standing(line),
        now=now,
        need_by=line.need_by,
        order_by=line.order_by,
        runs=line.runs,
        contract=line.contract,
        offer_price=offer_price,
    )


def _quantity_fits(row: Row, change: ListChange) -> bool:
    """Return whether a quantity that was typed over its formula is that of the packs."""
    typed, unit, now = row["quantity"], row["unit"], change.now
    if typed is None or unit is None or now is None or now.packs is None:
        return True
    wanted = now.packs * (change.pack_quantity or 0)
    return abs(stocked(typed, unit.symbol) - wanted) <= _NEAR * wanted
