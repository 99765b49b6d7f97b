"""Dispatch over the API: the board, what would leave for an order, dispatching and undoing."""

from __future__ import annotations

from collections.abc import Sequence
from http import HTTPStatus
from typing import Any

from django.shortcuts import get_object_or_404
from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.roles import Right
from boxwort.web.keys import key_of
from boxwort.web.operations_api import Act, DayAsked, Listing, Reading
from planning.api.dispatch_shapes import (
    BoardRowSerializer,
    DispatchAsked,
    DispatchDetailSerializer,
    DispatchesAsked,
    DispatchSerializer,
    OrderChoiceSerializer,
    UndoDispatchAsked,
)
from planning.models import CustomerOrder, Dispatch
from planning.queries.dispatch_board import BoardRow, dispatch_board
from planning.queries.dispatch_choices import dispatch_choice
from planning.queries.dispatch_offers import OrderChoice
from planning.queries.dispatches import (
    DispatchDetail,
    DispatchRow,
    dispatch_detail,
    dispatch_rows,
)
from planning.services.dispatching import dispatch_order, proposed, undo_dispatch


class DispatchBoard(Listing):
    """Return the orders that have still to leave, by the day they can, and what they lack."""

    answer = BoardRowSerializer

    def rows(self, **asked: Any) -> Sequence[BoardRow]:
        return [row for day in dispatch_board(timezone.localdate()) for row in day.rows]


class DispatchChoices(Reading):
    """Return what would leave for an order on a day: lots of each box, and what is lacking."""

    query = DayAsked
    answer = OrderChoiceSerializer

    def found(self, **asked: Any) -> OrderChoice:
        return dispatch_choice(asked["order_id"], asked.get("on") or timezone.localdate())


class OrderDispatch(Act):
    """Send boxes of an order on their way: all that is ready, or what is picked.

    Each kind of thing of a line must be picked for as many boxes as leave.
    """

    name = "dispatch_order"
    right = Right.DISPATCH
    body = DispatchAsked
    result = DispatchDetailSerializer
    success = HTTPStatus.CREATED

    def done(self, by: User, **asked: Any) -> DispatchDetail:
        order = get_object_or_404(CustomerOrder, pk=asked["order_id"])
        picks = asked.get("lines")
        if picks is None:
            picks = proposed(dispatch_choice(order.pk, asked["shipped_on"]))
        dispatch = dispatch_order(
            by=by,
            order=order,
            expected=asked["version"],
            shipped_on=asked["shipped_on"],
            picks=picks,
            key=key_of(self.request),
        )
        return dispatch_detail(dispatch.pk, by.units)


class Dispatches(Listing):
    """Return what left, the newest first."""

    query = DispatchesAsked
    answer = DispatchSerializer

    def rows(self, **asked: Any) -> Sequence[DispatchRow]:
        return dispatch_rows(order_id=asked.get("order_id"))


class DispatchInFull(Reading):
    """Return a dispatch: its boxes, the lots in them, how long they keep."""

    answer = DispatchDetailSerializer

    def found(self, **asked: Any) -> DispatchDetail:
        user: User = self.request.user  # type: ignore[assignment]  # signed in
        return dispatch_detail(asked["dispatch_id"], user.units)


class DispatchUndo(Act):
    """Take a dispatch back whole that was written down wrongly; the order is open again."""

    name = "undo_dispatch"
    right = Right.DISPATCH
    body = UndoDispatchAsked
    result = DispatchDetailSerializer

    def done(self, by: User, **asked: Any) -> DispatchDetail:
        rows = Dispatch.objects.select_related("order", "conversion")
        dispatch = get_object_or_404(rows, pk=asked["dispatch_id"])
        undo_dispatch(
            by=by,
            dispatch=dispatch,
            expected=asked["version"],
            reason=asked["reason"],
            key=key_of(self.request),
        )
        return dispatch_detail(dispatch.pk, by.units)
