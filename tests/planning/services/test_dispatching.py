"""An order leaves in lots that are here, whole or in part, and a mistake is taken back."""

from datetime import timedelta

import pytest

from boxwort.figures import NO_BREAK
from boxwort.quantities import Measure
from inventory.models import ItemKind, Lot, LotStock, Posting
from inventory.queries.moves import moves_of
from inventory.queries.verify import stock_differences
from inventory.services.ledger import reverse_posting
from inventory.services.lots import hold_lot
from planning.models import CustomerOrderState, DispatchPart
from planning.queries.dispatch_choices import dispatch_choice
from planning.queries.verify_dispatches import dispatch_check
from planning.services.dispatching import proposed, undo_dispatch
from planning.services.packing import undo_packing
from recipes.models import Part
from tests.make import item, refused
from tests.planning.dispatching import (
    kits,
    line,
    milled,
    one_order,
    picked,
    send,
    shop,
    yeast,
    zone,
)
from tests.planning.make import TODAY, pack, packing
from tests.recipes.make import kg

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]


@pytest.fixture
def made():
    """Return a store with ten kits and yeast for more."""
    found = shop()
    kits(found, 10, "KITS-A")
    yeast(found, 60, "YEAST-A")
    return found


def on_hand(code):
    return LotStock.objects.get(lot__code=code).on_hand


def packs_of(order):
    rows = dispatch_choice(order.pk, TODAY).lines[0].rows
    return next(row for row in rows if row.is_yeast)


def books_agree():
    return stock_differences() == [] and dispatch_check().differences == ()


def test_what_leaves_is_the_kits_and_the_yeast_that_goes_with_them(made):
    order = one_order(made, 4)
    packs = packs_of(order).per_box
    dispatch = send(made, order)
    assert (on_hand("KITS-A"), on_hand("YEAST-A")) == (6, 60 - 4 * packs)
    order.refresh_from_db()
    assert (order.state, order.lines.get().dispatched) == (CustomerOrderState.DISPATCHED, 4)
    assert (dispatch.arrives_on - dispatch.shipped_on).days == 2
    box = dispatch.boxes.get()
    assert (box.quantity, box.brew_on) == (4, TODAY + timedelta(days=14))
    assert books_agree()


def test_the_moves_of_the_lots_name_the_order_and_the_customer(made):
    dispatch = send(made, one_order(made, 4))
    (move,) = [row for row in moves_of(Lot.objects.get(code="KITS-A").pk) if row.change < 0]
    assert (move.kind_name, move.conversion) == ("Dispatch", dispatch.code)
    assert (move.reason, move.to_kind) == ("Order C-1 to Alder and Ash", "customer")


def test_a_part_leaves_now_and_the_rest_later(made):
    order = one_order(made, 14)
    send(made, order)
    order.refresh_from_db()
    assert (order.state, order.lines.get().dispatched) == (CustomerOrderState.OPEN, 10)
    kits(made, 5, "KITS-B")
    send(made, order)
    order.refresh_from_db()
    assert order.state == CustomerOrderState.DISPATCHED
    assert (order.dispatches.count(), on_hand("KITS-B")) == (2, 1)
    assert books_agree()


def test_extras_leave_beside_the_kits(made):
    order = one_order(made, 1)
    line(order, 40, item=made.goods.box)
    before = LotStock.objects.get(lot__item=made.goods.box).on_hand
    dispatch = send(made, order)
    assert LotStock.objects.get(lot__item=made.goods.box).on_hand == before - 40
    (extra,) = dispatch.content["extras"]
    assert extra["quantity"] == 40
    assert books_agree()


def test_boxes_of_two_lots_are_told_apart(made):
    order = one_order(made, 10)
    key = packs_of(order).key
    Lot.objects.filter(code="KITS-A").update(best_before_on=TODAY + timedelta(days=80))
    kits(made, 5, "KITS-B", best_before_on=TODAY + timedelta(days=90))
    yeast(made, 60, "YEAST-B")
    kinds = {"kit": {"KITS-A": 6, "KITS-B": 4}, key: {"YEAST-A": 7, "YEAST-B": 3}}
    dispatch = send(made, order, {order.lines.get().pk: picked(**kinds)})
    boxes = [(box.lot.code, box.parts.get().lot.code, box.quantity) for box in dispatch.boxes.all()]
    assert boxes == [
        ("KITS-A", "YEAST-A", 6),
        ("KITS-B", "YEAST-A", 1),
        ("KITS-B", "YEAST-B", 3),
    ]
    ends = [box.best_before_on for box in dispatch.boxes.all()]
    assert ends == [TODAY + timedelta(days=days) for days in (80, 90, 90)]
    assert books_agree()


def test_grain_that_is_crushed_for_the_box_sets_how_long_it_keeps():
    found = shop(grain_part=Part.DISPATCH)
    kits(found, 10, "KITS-A")
    yeast(found, 60, "YEAST-A")
    milled(found, kg(0.7), "MILLED")
    crystal = found.goods.crystal
    crystal.crushed_days = 21
    crystal.save()
    order = one_order(found, 3)
    dispatch = send(found, order)
    ends = {
        box.parts.get(lot__item=crystal).lot.code: box.best_before_on
        for box in dispatch.boxes.all()
    }
    whole = next(code for code in ends if code != "MILLED")
    assert ends == {
        "MILLED": TODAY + timedelta(days=19),
        whole: TODAY + timedelta(days=21),
    }
    assert all(DispatchPart.objects.filter(lot__item=crystal).values_list("crushed", flat=True))
    assert dispatch.content["boxes"][0]["grain"] == "crushed"
    assert set(dispatch.content["boxes"][0]["allergens"]) == {"barley"}


def test_a_whole_line_refuses_grain_that_is_crushed():
    found = shop(grain_part=Part.DISPATCH)
    kits(found, 10, "KITS-A")
    yeast(found, 60, "YEAST-A")
    milled(found, kg(5), "MILLED")
    order = one_order(found, 1, crushed=False)
    rows = {row.key: row for row in dispatch_choice(order.pk, TODAY).lines[0].rows}
    grain = next(key for key, row in rows.items() if row.pick)
    asked = {
        key: {offer.lot.code: 1 for offer in row.offers if offer.boxes} for key, row in rows.items()
    }
    asked[grain] = {"MILLED": 1}
    with refused("lot-cannot-go") as caught:
        send(found, order, {order.lines.get().pk: picked(**asked)})
    assert "MILLED of Crystal is crushed, and this line is whole" in str(caught.value)
    assert send(found, order).content["boxes"][0]["grain"] == "whole"


def test_yeast_below_its_floor_does_not_leave(made):
    made.kit.target_share, made.kit.floor_share = 1.5, 1.4
    made.kit.save()
    order = one_order(made, 2)
    kinds = {"kit": {"KITS-A": 2}, packs_of(order).key: {"YEAST-A": 2}}
    with refused("lot-cannot-go") as caught:
        send(made, order, {order.lines.get().pk: picked(**kinds)})
    assert "below the floor of 140 %" in str(caught.value).replace(NO_BREAK, " ")


def test_yeast_below_its_target_leaves_with_advice(made):
    made.kit.target_share, made.kit.floor_share = 1.5, 0.4
    made.kit.save()
    dispatch = send(made, one_order(made, 2))
    (part,) = dispatch.content["boxes"][0]["parts"]
    assert part["yeast"]["pitched"] < part["yeast"]["target"]
    assert part["yeast"]["best_by"] is None
    assert part["yeast"]["last_on"] > str(TODAY + timedelta(days=14))
    assert part["yeast"]["starter_l"] > 0


def test_boxes_leave_only_on_a_day_of_their_zone(made):
    order = one_order(made, 2)
    order.zone.ship_weekdays = "3"  # today is a Monday
    order.zone.save()
    with refused("zone-does-not-ship") as caught:
        send(made, order)
    assert "5 Mar 2026" in caught.value.remedy.replace(NO_BREAK, " ")


def test_a_lot_that_was_held_meanwhile_does_not_leave(made):
    order = one_order(made, 2)
    picks = proposed(dispatch_choice(order.pk, TODAY))
    lot = Lot.objects.get(code="KITS-A")
    hold_lot(by=made.by, lot=lot, expected=lot.version, reason="a torn bag")
    with refused("lot-cannot-go") as caught:
        send(made, order, picks)
    assert "KITS-A of Kit-Pale is on hold" in str(caught.value)
    assert on_hand("KITS-A") == 10


def test_an_order_that_was_changed_or_cancelled_meanwhile_does_not_leave(made):
    order = one_order(made, 2)
    with refused("changed-by-someone-else"):
        send(made, order, expected=order.version + 1)
    order.state = CustomerOrderState.CANCELLED
    order.save()
    with refused("order-not-open"):
        send(made, order)
    assert on_hand("KITS-A") == 10


@pytest.mark.parametrize(
    ("kit", "packs", "code"),
    [
        ({"KITS-A": 3}, {"YEAST-A": 3}, "more-than-ordered"),
        ({"KITS-A": 2}, {"YEAST-A": 1}, "boxes-not-whole"),
        ({"KITS-A": 2}, {"KITS-A": 2}, "lot-not-on-the-list"),
        ({"KITS-A": 3, "YEAST-A": -1}, {"YEAST-A": 2}, "quantity-negative"),
        ({}, {}, "nothing-to-dispatch"),
    ],
)
def test_picks_that_make_no_whole_boxes_are_refused(made, kit, packs, code):
    order = one_order(made, 2)
    kinds = {"kit": kit, packs_of(order).key: packs}
    with refused(code):
        send(made, order, {order.lines.get().pk: picked(**kinds)})
    with refused("boxes-not-whole" if kit else "nothing-to-dispatch"):
        send(made, order, {order.lines.get().pk: picked(kit=kit)})


def test_a_lot_of_which_nothing_is_picked_says_nothing(made):
    order = one_order(made, 2)
    kinds = {"kit": {"KITS-A": 2, "YEAST-A": 0}, packs_of(order).key: {"YEAST-A": 2}}
    send(made, order, {order.lines.get().pk: picked(**kinds)})
    assert on_hand("KITS-A") == 8


def test_more_than_is_here_does_not_leave(made):
    order = one_order(made, 11)
    kinds = {"kit": {"KITS-A": 11}, packs_of(order).key: {"YEAST-A": 11}}
    with refused("not-enough-on-hand"):
        send(made, order, {order.lines.get().pk: picked(**kinds)})


def test_a_line_of_another_order_is_refused(made):
    order, other = one_order(made, 2), one_order(made, 2)
    with refused("line-not-open"):
        send(made, order, proposed(dispatch_choice(other.pk, TODAY)))


def test_ice_leaves_with_liquid_yeast_in_the_warm_season(made):
    ice = item("ICE", ItemKind.PACKAGING, measure=Measure.COUNT)
    made.lot(ice, 20, code="ICE-A")
    zone(ice_item=ice, ice_packs=2, warm_from=201, warm_until=401)
    dispatch = send(made, one_order(made, 4))
    assert (on_hand("ICE-A"), dispatch.content["warm"]) == (12, True)
    assert books_agree()


def test_undoing_puts_everything_back_and_opens_the_order(made):
    order = one_order(made, 4)
    dispatch = send(made, order)
    with refused("reason-missing"):
        undo_dispatch(by=made.by, dispatch=dispatch, expected=1, reason=" ", key="undo")
    undo_dispatch(by=made.by, dispatch=dispatch, expected=1, reason="another order", key="undo")
    assert (on_hand("KITS-A"), on_hand("YEAST-A")) == (10, 60)
    order.refresh_from_db()
    assert (order.state, order.lines.get().dispatched) == (CustomerOrderState.OPEN, 0)
    with refused("dispatch-undone"):
        undo_dispatch(by=made.by, dispatch=dispatch, expected=2, reason="again", key="undo-2")
    assert books_agree()
    send(made, order)
    assert on_hand("KITS-A") == 6
    assert books_agree()


def test_the_posting_of_a_dispatch_is_taken_back_with_it_alone(made):
    dispatch = send(made, one_order(made, 4))
    posting = Posting.objects.get(conversion=dispatch.conversion)
    with refused("posting-of-work"):
        reverse_posting(by=made.by, posting=posting, key="back", reason="no")


def test_kits_that_left_are_not_unpacked():
    found, _run, batch = packing()
    pack(found, batch)
    yeast(found, 60, "YEAST-A", age=1)
    found.kit.target_share, found.kit.floor_share = 0.4, 0.1
    found.kit.save()
    dispatch = send(found, one_order(found, 4))
    assert dispatch.content["boxes"][0]["batches"] == [batch.code]
    batch.refresh_from_db()
    with refused("output-used") as caught:
        undo_packing(by=found.by, batch=batch, expected=batch.version, reason="no", key="unpack")
    assert dispatch.code in caught.value.remedy
    assert books_agree()


def test_books_that_were_changed_behind_its_back_are_told(made):
    order = one_order(made, 4)
    dispatch = send(made, order)
    dispatch.boxes.update(quantity=3)
    order.lines.update(dispatched=2)
    said = " ".join(dispatch_check().differences).replace(NO_BREAK, " ")
    assert f"Dispatch {dispatch.code} says that 3" in said
    assert "Line 1 of order C-1 says that 2 left, and its dispatches add up to 3" in said
    assert "Order C-1 is dispatched, which does not fit" in said
