"""Purchase orders on their way to the supplier: drafted, changed, sent, promised, given up."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from boxwort.accounts.models import User
from boxwort.accounts.services import change_version, service, write_history
from boxwort.errors import Refusal
from boxwort.figures import on_date
from inventory.models import Contract, Supplier, SupplierItem
from inventory.services.entries import REASON_LENGTH, check_reason, check_text
from planning.models import ON_ORDER, OrderState, PurchaseLine, PurchaseOrder
from planning.queries.buying_lists import MOST_PACKS
from planning.queries.offered_prices import offered_prices
from planning.services.call_offs import CallOff, check_call_offs
from planning.services.codes import numbered_code
from planning.services.orders import (
    OrderedLine,
    order_facts,
    refuse_impossible_lines,
    write_lines,
)


@dataclass(frozen=True, kw_only=True)
class DraftLine:
    """So many packs of an offer, due on a day, at a price in ten-thousandths.

    Without a price it is the contract's, or else the offer's for so many. ``contract`` is called
    off. ``need_by``, ``order_by`` and ``runs`` are as a plan had them.
    """

    offer: SupplierItem
    packs: int
    due_on: date
    pack_price: int | None = None
    contract: Contract | None = None
    need_by: date | None = None
    order_by: date | None = None
    runs: str = ""

    def ordered(self, pack_price: int | None) -> OrderedLine:
        """Return the line as it stands on an order, at a price."""
        return OrderedLine(
            item=self.offer.item,
            quantity=self.packs * self.offer.pack_quantity,
            due_on=self.due_on,
            offer=self.offer,
            contract=self.contract,
            pack_quantity=self.offer.pack_quantity,
            pack_price=pack_price,
            need_by=self.need_by,
            order_by=self.order_by,
            runs=self.runs,
        )


@service
def draft_order(
    *, by: User, supplier: Supplier, on: date, lines: Sequence[DraftLine], note: str = ""
) -> PurchaseOrder:
    """Write the draft of an order to a supplier; where one stands, it is written anew.

    So drafting what a plan proposes twice never orders it twice. What differs in price or date from
    the draft before is in the history.

    Raises
    ------
    Refusal: ``order-without-lines``, ``order-line-twice``, ``packs-out-of-range``,
        ``offer-of-another-supplier``, ``contract-of-another-offer``, ``contract-not-open`` or
        ``contract-exhausted``.
    """
    Supplier.objects.select_for_update().get(pk=supplier.pk)  # one draft, whoever asks first
    standing = (
        PurchaseOrder.objects.select_for_update()
        .filter(supplier=supplier, state=OrderState.DRAFT)
        .order_by("code")
        .first()
    )
    if standing:
        change_draft(by=by, order=standing, expected=standing.version, lines=lines, note=note)
        return standing
    _check_lines(supplier, lines, code="draft")
    ordered = _ordered(lines)
    code = numbered_code(PurchaseOrder, f"PO{on:%y%m%d}")
    refuse_impossible_lines(code, on, ordered)
    order = PurchaseOrder.objects.create(
        code=code, supplier=supplier, ordered_on=on, state=OrderState.DRAFT, note=_note(note)
    )
    write_lines(order, ordered)
    write_history(by=by, thing=order, action="draft order", after=order_facts(order))
    return order


@service
def change_draft(
    *,
    by: User,
    order: PurchaseOrder,
    expected: int,
    lines: Sequence[DraftLine],
    note: str | None = None,
) -> PurchaseOrder:
    """Write the lines of a draft anew.

    Raises
    ------
    Refusal: as :func:`draft_order`, ``order-not-draft``, or ``changed-by-someone-else``.
    """
    held = hold_order(order)
    refuse_other_states(held, (OrderState.DRAFT,), "changed", "Order what is missing anew.")
    _check_lines(held.supplier, lines, code=held.code, order=held)
    ordered = _ordered(lines)
    refuse_impossible_lines(held.code, held.ordered_on, ordered)
    before = order_facts(held)
    changes = {} if note is None else {"note": _note(note)}
    change_version(by=by, thing=held, expected=expected, action="change draft", changes=changes)
    held.lines.all().delete()
    write_lines(held, ordered)
    write_history(
        by=by, thing=held, action="wrote order lines", before=before, after=order_facts(held)
    )
    order.refresh_from_db()
    return order


@service
def send_order(*, by: User, order: PurchaseOrder, expected: int, on: date) -> None:
    """Note that a draft was sent to its supplier: from now on it counts as on order.

    Raises
    ------
    Refusal: ``order-not-draft``, ``order-due-before-ordered``, or ``changed-by-someone-else``.
    """
    held = hold_order(order)
    refuse_other_states(held, (OrderState.DRAFT,), "sent", "It can be sent once.")
    for line in held.lines.select_related("item"):
        if line.due_on < on:
            raise Refusal(
                "order-due-before-ordered",
                f"{line.item.name} of order {held.code} is due on {on_date(line.due_on)}, before "
                f"it is ordered on {on_date(on)}.",
                "Give the line a day on which the supplier can deliver, then send the order.",
            )
    change_version(
        by=by,
        thing=held,
        expected=expected,
        action="send order",
        changes={"state": OrderState.SENT, "ordered_on": on},
    )
    order.refresh_from_db()


@service
def cancel_order(*, by: User, order: PurchaseOrder, expected: int, reason: str) -> None:
    """Give up an order of which nothing has come.

    Raises
    ------
    Refusal: ``reason-missing``, ``order-already-received``, ``order-is-over``, or
        ``changed-by-someone-else``.
    """
    check_reason(reason)
    held = hold_order(order)
    refuse_over(held)
    if held.lines.filter(received__gt=0).exists():
        raise Refusal(
            "order-already-received",
            f"Part of order {held.code} has come already.",
            "End the lines that will not come, or undo the receipt first.",
        )
    change_version(
        by=by,
        thing=held,
        expected=expected,
        action="cancel order",
        changes={"state": OrderState.CANCELLED, "note": reason},
    )
    order.refresh_from_db()


@service
def end_lines(
    *, by: User, order: PurchaseOrder, expected: int, line_ids: Iterable[int], ended: bool
) -> None:
    """Say that the rest of some lines will not come, or that it will after all.

    An order of which nothing more is awaited is closed; one that awaits again is open.

    Raises
    ------
    Refusal: ``order-not-sent``, ``line-of-another-order``, or ``changed-by-someone-else``.
    """
    held = hold_order(order)
    states = (*ON_ORDER, OrderState.CLOSED)
    refuse_other_states(held, states, "ended", "Send it first, or cancel it.")
    lines = {line.pk: line for line in held.lines.select_related("item")}
    for line_id in line_ids:
        line = line_of(held, lines, line_id)
        line.ended = ended
        line.save(update_fields=["ended"])
    change_version(
        by=by,
        thing=held,
        expected=expected,
        action="end lines" if ended else "await lines",
        changes={"state": state_by_lines(lines.values())},
    )
    order.refresh_from_db()


def _ordered(lines: Sequence[DraftLine]) -> list[OrderedLine]:
    """Return the lines with the price of each."""
    wanting = [line for line in lines if line.pack_price is None]
    prices = offered_prices((line.offer.pk, line.packs) for line in wanting)
    return [line.ordered(_price(line, prices)) for line in lines]


def _price(line: DraftLine, prices: Mapping[tuple[int, int], int | None]) -> int | None:
    if line.pack_price is not None:
        return line.pack_price
    if line.contract is not None and line.contract.pack_price is not None:
        return line.contract.pack_price
    return prices[line.offer.pk, line.packs]


def hold_order(order: PurchaseOrder) -> PurchaseOrder:
    """Return the order locked until the transaction ends, and its supplier."""
    held = PurchaseOrder.objects.select_for_update(of=("self",)).select_related("supplier")
    return held.get(pk=order.pk)


def state_by_lines(lines: Iterable[PurchaseLine]) -> OrderState:
    """Return where a sent order stands by what has come of its lines."""
    rows = list(lines)
    if all(line.ended or line.received >= line.quantity for line in rows):
        return OrderState.CLOSED
    if any(line.received for line in rows):
        return OrderState.PART_RECEIVED
    return OrderState.SENT


def line_of(order: PurchaseOrder, lines: Mapping[int, PurchaseLine], line_id: int) -> PurchaseLine:
    """Return a line of the order, or refuse one of another."""
    if line_id not in lines:
        raise Refusal(
            "line-of-another-order",
            f"Order {order.code} has no such line.",
            "Open the order again: somebody may have written it anew.",
        )
    return lines[line_id]


def refuse_other_states(
    order: PurchaseOrder, states: Iterable[str], verb: str, remedy: str
) -> None:
    """Refuse an act on an order that is not in one of the states."""
    allowed = tuple(states)
    if order.state not in allowed:
        code = "order-not-draft" if allowed == (OrderState.DRAFT,) else "order-not-sent"
        raise Refusal(
            code,
            f"Order {order.code} is {order.get_state_display().lower()} and cannot be {verb}.",
            remedy,
        )


def refuse_over(order: PurchaseOrder) -> None:
    """Refuse an act on an order that is closed or cancelled."""
    if order.state in (OrderState.CLOSED, OrderState.CANCELLED):
        raise Refusal(
            "order-is-over",
            f"Order {order.code} is {order.get_state_display().lower()} already.",
            "Nothing of it is awaited.",
        )


def _note(note: str) -> str:
    check_text(note, REASON_LENGTH, "The note")
    return note


def _check_lines(
    supplier: Supplier,
    lines: Sequence[DraftLine],
    *,
    code: str,
    order: PurchaseOrder | None = None,
) -> None:
    for line in lines:
        if line.offer.supplier_id != supplier.pk:
            raise Refusal(
                "offer-of-another-supplier",
                f"{supplier.name} does not sell {line.offer.item.name} by that offer.",
                "Order it from the supplier whose offer it is.",
            )
        if line.contract is not None and line.contract.offer_id != line.offer.pk:
            raise Refusal(
                "contract-of-another-offer",
                f"Contract {line.contract} is not for {line.offer.item.name} in this pack.",
                "Choose a contract of the offer, or none.",
            )
        if not 1 <= line.packs <= MOST_PACKS:
            raise Refusal(
                "packs-out-of-range",
                f"{line.packs:,} packs of {line.offer.item.name} were asked for ({code}).",
                f"Write a number from 1 to {MOST_PACKS:,}, or leave the line out.",
            )
    calls = [
        CallOff(contract=line.contract, item=line.offer.item, quantity=quantity, due_on=line.due_on)
        for line in lines
        if line.contract is not None and (quantity := line.packs * line.offer.pack_quantity)
    ]
    check_call_offs(calls, order)


def refuse_twice(order: PurchaseOrder, lines: Iterable[PurchaseLine]) -> None:
    """Refuse two lines of one item for the same day."""
    seen: set[tuple[int, date]] = set()
    for line in lines:
        if (line.item_id, line.due_on) in seen:
            raise Refusal(
                "order-line-twice",
                f"Order {order.code} would name {line.item.name} due on {on_date(line.due_on)} "
                "twice.",
                "Give the two lines different days.",
            )
        seen.add((line.item_id, line.due_on))
