"""By when to order: working days, lead days, order weekdays and quarantine, by hand and always."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from boxwort.figures import NO_BREAK
from planning.engine.calendar import Delivery, WorkingDays, arrival, order_days

WEEK = WorkingDays(weekdays="01234", days_off=frozenset({date(2026, 12, 25), date(2027, 1, 1)}))
TODAY = date(2026, 12, 1)  # a Tuesday
DAY = timedelta(days=1)


def days(need_by, **facts):
    return order_days(need_by, delivery=Delivery(**facts), calendar=WEEK, today=TODAY)


def told(need_by, **facts):
    return [reason.replace(NO_BREAK, " ") for reason in days(need_by, **facts).reasons]


def test_house_works_on_its_weekdays_but_not_on_its_days_off():
    assert WEEK.works(date(2026, 12, 24))
    assert not WEEK.works(date(2026, 12, 25))
    assert not WEEK.works(date(2026, 12, 26))


def test_house_that_names_no_weekday_works_every_day():
    assert WorkingDays(weekdays="").works(date(2026, 12, 27))


def test_working_days_are_counted_over_weekends_and_days_off():
    assert WEEK.shifted(date(2026, 12, 24), 1) == date(2026, 12, 28)
    assert WEEK.shifted(date(2026, 12, 28), -1) == date(2026, 12, 24)
    assert WEEK.shifted(date(2026, 12, 26), 0) == date(2026, 12, 28)
    assert WEEK.shifted(date(2026, 12, 26), 1) == date(2026, 12, 28)


def test_calendar_days_from_order_to_a_working_day():
    found = days(date(2026, 12, 20), lead_days=7)

    # Sunday: it comes on Friday at the latest, and was ordered a week before
    assert (found.arrive_by, found.order_by) == (date(2026, 12, 18), date(2026, 12, 11))


def test_working_days_from_order_to_receipt():
    found = days(date(2026, 12, 29), lead_days=3, counts_working_days=True)

    assert found.order_by == date(2026, 12, 23)


def test_order_on_a_friday_or_the_day_it_is_needed():
    assert days(date(2026, 12, 18), lead_days=0).order_by == date(2026, 12, 18)


def test_quarantine_is_over_when_it_is_needed():
    found = days(date(2026, 12, 18), lead_days=2, quarantine_days=4)

    assert (found.arrive_by, found.order_by) == (date(2026, 12, 14), date(2026, 12, 11))


def test_orders_go_on_the_weekdays_of_the_supplier():
    found = days(date(2026, 12, 18), lead_days=7, order_weekdays="1")

    assert (found.order_by, found.past_due) == (date(2026, 12, 8), False)


def test_supplier_who_takes_orders_on_free_days_only_is_ordered_from_then():
    assert days(date(2026, 12, 18), lead_days=7, order_weekdays="5").order_by == date(2026, 12, 5)


def test_late_order_says_when_it_would_come():
    found = days(date(2026, 12, 4), lead_days=7, order_weekdays="3", quarantine_days=2)

    assert found.past_due
    assert found.order_by == date(2026, 11, 19)
    assert found.next_order_on == date(2026, 12, 3)
    assert (found.arrives_on, found.usable_on) == (date(2026, 12, 10), date(2026, 12, 12))


def test_late_order_says_so_in_plain_words():
    assert told(date(2026, 12, 4), lead_days=7) == [
        "Past due: it should have been ordered by 27 Nov 2026; "
        "ordered today it arrives on 8 Dec 2026."
    ]
    assert told(date(2026, 12, 4), lead_days=7, order_weekdays="3", quarantine_days=2) == [
        "Past due: it should have been ordered by 19 Nov 2026; "
        "ordered 3 Dec 2026 it arrives on 10 Dec 2026 and can be used from 12 Dec 2026."
    ]
    assert told(date(2026, 12, 18), lead_days=7) == []


def test_order_of_today_is_not_past_due():
    assert not days(date(2026, 12, 8), lead_days=7).past_due
    assert days(date(2026, 12, 7), lead_days=7).past_due


def test_working_shows_where_the_days_go():
    working = days(
        date(2026, 12, 20), lead_days=7, quarantine_days=1, order_weekdays="01234"
    ).working()

    assert [(term.name, term.value) for term in working.terms] == [
        ("quarantine", 1),
        ("wait for a working day", 1),
        ("from order to receipt", 7),
    ]
    assert working.value == 9
    assert working.notes == (
        "The supplier delivers in 7 days.",
        "The supplier takes orders on some weekdays only.",
    )


def test_days_below_zero_are_refused():
    with pytest.raises(ValueError, match="less than zero"):
        Delivery(lead_days=-1)


dates = st.dates(date(2026, 11, 1), date(2027, 2, 1))
weekdays = st.sets(st.sampled_from("0123456"), min_size=1).map(lambda found: "".join(sorted(found)))
calendars = st.builds(WorkingDays, weekdays=weekdays, days_off=st.frozensets(dates, max_size=8))
deliveries = st.builds(
    Delivery,
    lead_days=st.integers(0, 12),
    counts_working_days=st.booleans(),
    order_weekdays=weekdays,
    quarantine_days=st.integers(0, 5),
)
often = settings(max_examples=100)


@often
@given(need_by=dates, delivery=deliveries, calendar=calendars)
def test_what_is_ordered_on_the_order_day_is_usable_in_time(need_by, delivery, calendar):
    found = order_days(need_by, delivery=delivery, calendar=calendar, today=TODAY)

    arrives_on = arrival(found.order_by, delivery=delivery, calendar=calendar)
    assert calendar.works(arrives_on)
    assert calendar.works(found.arrives_on)
    assert arrives_on + delivery.quarantine_days * DAY <= need_by
    assert found.next_order_on >= TODAY
    assert str(found.order_by.weekday()) in delivery.order_weekdays


@often
@given(need_by=dates, delivery=deliveries, calendar=calendars)
def test_ordered_on_the_next_order_day_it_is_too_late(need_by, delivery, calendar):
    found = order_days(need_by, delivery=delivery, calendar=calendar, today=TODAY)

    after = order_days(need_by, delivery=delivery, calendar=calendar, today=found.order_by + DAY)
    assert after.past_due
    assert after.usable_on > need_by


@often
@given(need_by=dates, delivery=deliveries, calendar=calendars, later=st.integers(0, 20))
def test_what_is_needed_later_is_never_ordered_earlier(need_by, delivery, calendar, later):
    def at(day):
        return order_days(day, delivery=delivery, calendar=calendar, today=TODAY)

    assert at(need_by).order_by <= at(need_by + later * DAY).order_by


@often
@given(day=dates, calendar=calendars, count=st.integers(-15, 15))
def test_as_many_working_days_lie_between_as_were_counted(day, calendar, count):
    found = calendar.shifted(day, count)

    assert calendar.works(found)
    low, high = min(day, found), max(day, found)
    inside = sum(calendar.works(low + step * DAY) for step in range((high - low).days + 1))
    assert inside - calendar.works(day) == (abs(count) if count else found != day)
