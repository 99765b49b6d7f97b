"""Deliveries against purchase orders: lots in quarantine, damage, and what it cost to land them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.accounts.services import answer_once, change_version, service, write_history
from boxwort.errors import Refusal
from inventory.models import Lot, LotStatus, Place, Posting
from inventory.queries.lot_codes import free_lot_codes
from inventory.services.entries import (
    REASON_LENGTH,
    check_not_negative,
    check_not_to_come,
    check_reason,
    check_text,
)
from inventory.services.ledger import reverse_posting
from inventory.services.lots import receive_lot, reject_lot
from inventory.services.works import shared_out
from planning.models import ON_ORDER, OrderState, PurchaseLine, PurchaseOrder, Receipt, ReceiptLine
from planning.services.codes import numbered_code
from planning.services.purchase_orders import (
    hold_order,
    line_of,
    refuse_other_states,
    state_by_lines,
)

NOTE_LENGTH = 40


@dataclass(frozen=True, kw_only=True)
class Arrived:
    """What came of one line of an order in one lot of the supplier's.

    Attributes
    ----------
    line_id: the line of the order.
    quantity: whole units that are good; they become a lot at ``place``. More than was ordered is
        taken in as it came.
    packing: of hops; "": as usual.
    damaged: whole units that are not taken in; ``damage`` says what happened.
    code: of our lot; "": the item and the day.
    ends: whether the rest of the line will not come; that may be all there is to say of it.
    """

    line_id: int
    quantity: int
    place: Place
    damaged: int = 0
    damage: str = ""
    code: str = ""
    supplier_lot: str = ""
    packaged_on: date | None = None
    best_before_on: date | None = None
    packing: str = ""
    form: str = ""
    ends: bool = False


@service
def receive_order(
    *,
    by: User,
    order: PurchaseOrder,
    expected: int,
    received_on: date,
    arrived: Sequence[Arrived],
    key: str,
    freight: int = 0,
    delivery_note: str = "",
) -> Receipt:
    """Take a delivery in: each good part becomes a lot in quarantine at its landed cost.

    ``freight`` ten-thousandths are shared over the parts by their price. The same key again returns
    the same receipt.

    Raises
    ------
    Refusal: ``order-not-sent``, ``nothing-arrived``, ``freight-of-nothing``,
        ``damage-not-described``,
        ``line-of-another-order``, ``lot-code-missing``, ``changed-by-someone-else``, or what
        receiving a lot refuses.
    """
    delivery = _Delivery(
        by=by,
        order=order,
        expected=expected,
        received_on=received_on,
        arrived=tuple(arrived),
        key=key,
        freight=freight,
        delivery_note=delivery_note,
    )
    answer = answer_once(
        by=by, key=f"receive {key}"[:80], payload=delivery.asked(), work=delivery.taken_in
    )
    order.refresh_from_db()
    return Receipt.objects.get(pk=answer["receipt"])


@service
def undo_receipt(*, by: User, receipt: Receipt, expected: int, reason: str, key: str) -> None:
    """Take a receipt back whole, as if it had never come; its order awaits the delivery again.

    Its lots are rejected, so that nothing is counted into them. An order that was cancelled since
    stays so.

    Raises
    ------
    Refusal: ``reason-missing``, ``receipt-undone``, ``changed-by-someone-else``, or something of a
        lot was used, reserved or moved since.
    """
    check_reason(reason)
    order = hold_order(receipt.order)
    held = Receipt.objects.select_for_update().get(pk=receipt.pk)
    if held.undone_at is not None:
        raise Refusal(
            "receipt-undone",
            f"Receipt {held.code} was undone before.",
            "Receive the delivery anew where it came after all.",
        )
    lines = {line.pk: line for line in order.lines.all()}
    rows = held.lines.select_related("posting", "lot").order_by("pk")
    for number, row in enumerate(rows, start=1):
        if row.posting is not None and row.lot is not None:
            reverse_posting(by=by, posting=row.posting, key=f"{key}-{number}", reason=reason)
            if row.lot.status != LotStatus.REJECTED:
                reject_lot(by=by, lot=row.lot, expected=row.lot.version, reason=reason)
        line = lines[row.line_id]
        line.received -= row.quantity
        line.ended = False
    for line in lines.values():
        line.save(update_fields=["received", "ended"])
    change_version(
        by=by,
        thing=held,
        expected=expected,
        action="undo receipt",
        changes={"undone_at": timezone.now()},
    )
    if order.state != OrderState.CANCELLED:
        _follow(by, order, lines, "await delivery again")
    receipt.refresh_from_db()


@dataclass(frozen=True, kw_only=True)
class _Delivery:
    by: User
    order: PurchaseOrder
    expected: int
    received_on: date
    arrived: tuple[Arrived, ...]
    key: str
    freight: int
    delivery_note: str

    def asked(self) -> dict[str, object]:
        """Return what was asked, so that the same key with another delivery is refused."""
        return {
            "order": self.order.pk,
            "received_on": self.received_on,
            "freight": self.freight,
            "delivery_note": self.delivery_note,
            "arrived": [
                {name: value for name, value in vars(row).items() if name != "place"}
                | {"place": row.place.pk}
                for row in self.arrived
            ],
        }

    def taken_in(self) -> dict[str, object]:
        order = hold_order(self.order)
        refuse_other_states(order, ON_ORDER, "received", "Send it first, or await its lines again.")
        self._check()
        lines = {line.pk: line for line in order.lines.select_related("item__hop")}
        priced = list(self._priced(order, lines))
        freight = shared_out(self.freight, freight_weights(priced, self.arrived))
        receipt = Receipt.objects.create(
            code=numbered_code(Receipt, f"RC{self.received_on:%y%m%d}"),
            order=order,
            received_on=self.received_on,
            delivery_note=self.delivery_note,
            freight=self.freight,
            received_by=self.by,
        )
        codes = self._codes(lines)
        for number, (row, code) in enumerate(zip(self.arrived, codes, strict=True), start=1):
            landed = priced[number - 1] + freight[number - 1]
            lot = self._lot(order, lines[row.line_id], row, code, landed, number)
            if row.quantity or row.damaged:
                ReceiptLine.objects.create(
                    receipt=receipt,
                    line=lines[row.line_id],
                    lot=lot,
                    posting=self._posting(number) if lot else None,
                    quantity=row.quantity,
                    damaged=row.damaged,
                    damage=row.damage,
                    price=priced[number - 1],
                    landed=landed,
                )
            lines[row.line_id].received += row.quantity
            lines[row.line_id].ended |= row.ends
        for line in lines.values():
            line.save(update_fields=["received", "ended"])
        _follow(self.by, order, lines, "receive delivery", expected=self.expected)
        write_history(by=self.by, thing=receipt, action="received", after=self.asked())
        return {"receipt": receipt.pk}

    def _priced(self, order: PurchaseOrder, lines: Mapping[int, PurchaseLine]) -> Iterator[int]:
        """Yield what each part costs, so that parts of a line cost together what it does whole."""
        come = {line.pk: line.received for line in lines.values()}
        for row in self.arrived:
            line = line_of(order, lines, row.line_id)
            before = price_of(line, come[line.pk])
            come[line.pk] += row.quantity
            yield price_of(line, come[line.pk]) - before

    def _check(self) -> None:
        check_not_to_come(self.received_on, "delivery")
        check_not_negative(self.freight, "of money for freight")
        check_text(self.delivery_note, NOTE_LENGTH, "The delivery note")
        if not any(row.quantity or row.damaged for row in self.arrived):
            raise Refusal(
                "nothing-arrived",
                f"Nothing was said to have come of order {self.order.code}.",
                "Write what came of at least one line, good or damaged.",
            )
        if self.freight and not any(row.quantity for row in self.arrived):
            raise Refusal(
                "freight-of-nothing",
                "Nothing good came that the freight could be part of the cost of.",
                "Leave the freight at 0, and claim it with the damage.",
            )
        for row in self.arrived:
            check_not_negative(row.quantity, "good")
            check_not_negative(row.damaged, "damaged")
            check_text(row.damage, REASON_LENGTH, "What happened")
            if row.damaged and not row.damage.strip():
                raise Refusal(
                    "damage-not-described",
                    "Something came damaged, and nothing says how.",
                    "Write in a few words what happened; the supplier will ask.",
                )

    def _codes(self, lines: Mapping[int, PurchaseLine]) -> list[str]:
        wanting = [row for row in self.arrived if row.quantity and not row.code]
        items = [lines[row.line_id].item.code for row in wanting]
        free = iter(free_lot_codes(items, self.received_on) if items else [])
        codes = [row.code or (next(free) if row.quantity else "") for row in self.arrived]
        if any(row.quantity and not code for row, code in zip(self.arrived, codes, strict=True)):
            raise Refusal(
                "lot-code-missing",
                "No free lot code is left for today.",
                "Write a code for each lot.",
            )
        return codes

    def _lot(
        self,
        order: PurchaseOrder,
        line: PurchaseLine,
        row: Arrived,
        code: str,
        landed: int,
        number: int,
    ) -> Lot | None:
        if not row.quantity:
            return None
        return receive_lot(
            by=self.by,
            code=code,
            item=line.item,
            received_on=self.received_on,
            quantity=row.quantity,
            place=row.place,
            key=self._lot_key(number),
            supplier=order.supplier,
            supplier_lot=row.supplier_lot,
            packaged_on=row.packaged_on,
            best_before_on=row.best_before_on,
            packing=row.packing or _usual_packing(line),
            form=row.form,
            cost_amount=landed,
        )

    def _posting(self, number: int) -> Posting:
        return Posting.objects.get(by=self.by, key=self._lot_key(number))

    def _lot_key(self, number: int) -> str:
        return f"{self.key[:76]}-{number}"


def _usual_packing(line: PurchaseLine) -> str:
    """Return how the item comes packed where it is a hop."""
    return line.item.hop.packing if hasattr(line.item, "hop") else ""


def price_of(line: PurchaseLine, quantity: int) -> int:
    """Return what a quantity of a line costs, in ten-thousandths, rounded once."""
    if line.pack_price is None or not line.pack_quantity:
        return 0
    return round(Fraction(line.pack_price * quantity, line.pack_quantity))


def freight_weights(prices: Sequence[int], arrived: Sequence[Arrived]) -> list[int]:
    """Return by what freight is shared: the price, or evenly over what came where none is known."""
    if any(prices):
        return list(prices)
    return [1 if row.quantity else 0 for row in arrived]


def _follow(
    by: User,
    order: PurchaseOrder,
    lines: Mapping[int, PurchaseLine],
    action: str,
    expected: int | None = None,
) -> None:
    """Put the order in the state that its lines are in."""
    change_version(
        by=by,
        thing=order,
        expected=order.version if expected is None else expected,
        action=action,
        changes={"state": OrderState(state_by_lines(lines.values()))},
    )
