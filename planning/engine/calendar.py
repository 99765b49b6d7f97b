"""The working days of the house, and the day by which something must be ordered.

What is needed on a day has been checked by then: it arrived its quarantine days earlier, on a
working day of the house, and was ordered its lead days before that, on a weekday on which the
supplier takes orders.

>>> house = WorkingDays(weekdays="01234", days_off=frozenset({date(2026, 12, 25)}))
>>> slow = Delivery(lead_days=5, counts_working_days=True, order_weekdays="1", quarantine_days=3)
>>> days = order_days(date(2026, 12, 29), delivery=slow, calendar=house, today=date(2026, 12, 1))
>>> days.arrive_by.isoformat(), days.order_by.isoformat(), days.past_due
('2026-12-24', '2026-12-15', False)
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from boxwort.figures import on_date
from boxwort.working import Term, Working

EVERY_DAY = "0123456"
_DAY = timedelta(days=1)


@dataclass(frozen=True, kw_only=True)
class WorkingDays:
    """The weekdays on which the house works (0 is Monday), without its days off.

    No weekday at all is read as every day.
    """

    weekdays: str = EVERY_DAY
    days_off: frozenset[date] = frozenset()

    def works(self, day: date) -> bool:
        """Return whether the house works on a day."""
        return _is_one(day, self.weekdays) and day not in self.days_off

    def on_or_before(self, day: date) -> date:
        """Return the latest working day that is not after ``day``."""
        while not self.works(day):
            day -= _DAY
        return day

    def on_or_after(self, day: date) -> date:
        """Return the first working day that is not before ``day``."""
        while not self.works(day):
            day += _DAY
        return day

    def shifted(self, day: date, days: int) -> date:
        """Return the working day so many working days after ``day``, before it if negative.

        No days at all: the first working day that is not before it.

        >>> house = WorkingDays(weekdays="01234")
        >>> [house.shifted(date(2026, 11, 27), days).isoformat() for days in (-1, 0, 1)]
        ['2026-11-26', '2026-11-27', '2026-11-30']
        """
        if days == 0:
            return self.on_or_after(day)
        step = _DAY if days > 0 else -_DAY
        left = abs(days)
        while left:
            day += step
            left -= self.works(day)
        return day


@dataclass(frozen=True, kw_only=True)
class Delivery:
    """How an item comes from a supplier.

    Attributes
    ----------
    lead_days: days from order to receipt; ``counts_working_days``: only the house's count.
    order_weekdays: weekdays on which the supplier takes orders, 0 for Monday.
    quarantine_days: days after its receipt until it can be used.
    """

    lead_days: int
    counts_working_days: bool = False
    order_weekdays: str = EVERY_DAY
    quarantine_days: int = 0

    def __post_init__(self) -> None:
        if self.lead_days < 0 or self.quarantine_days < 0:
            msg = "lead days and quarantine days cannot be less than zero"
            raise ValueError(msg)


@dataclass(frozen=True, kw_only=True)
class OrderDays:
    """When to order, and what becomes of it when that is too late.

    Attributes
    ----------
    need_by: the day on which it must be usable.
    arrive_by: the last working day on which it may arrive.
    order_by: the last day on which to order.
    next_order_on: the first day from today on which it can be ordered.
    arrives_on, usable_on: when it comes if it is ordered then, and from when it can be used.
    """

    need_by: date
    arrive_by: date
    order_by: date
    next_order_on: date
    arrives_on: date
    usable_on: date
    today: date
    delivery: Delivery

    @property
    def past_due(self) -> bool:
        """Whether it should have been ordered before today."""
        return self.order_by < self.today

    def working(self) -> Working:
        """Return how many days before the need it must be ordered."""
        checked = (self.need_by - self.arrive_by).days - self.delivery.quarantine_days
        delivered = (self.arrive_by - self.order_by).days
        return Working(
            name="Order day",
            formula="quarantine + wait for a working day + from order to receipt",
            terms=(
                Term(name="quarantine", value=self.delivery.quarantine_days, unit="days"),
                Term(name="wait for a working day", value=checked, unit="days"),
                Term(name="from order to receipt", value=delivered, unit="days"),
            ),
            value=(self.need_by - self.order_by).days,
            unit="days",
            source="common practice",
            notes=self._notes(),
        )

    @property
    def reasons(self) -> tuple[str, ...]:
        """Why it comes late, in plain words; none if it does not."""
        if not self.past_due:
            return ()
        ordered = "today" if self.today == self.next_order_on else on_date(self.next_order_on)
        usable = (
            ""
            if self.usable_on == self.arrives_on
            else (f" and can be used from {on_date(self.usable_on)}")
        )
        return (
            f"Past due: it should have been ordered by {on_date(self.order_by)}; "
            f"ordered {ordered} it arrives on {on_date(self.arrives_on)}{usable}.",
        )

    def _notes(self) -> tuple[str, ...]:
        counted = "working days" if self.delivery.counts_working_days else "days"
        notes = [f"The supplier delivers in {self.delivery.lead_days} {counted}."]
        if set(self.delivery.order_weekdays) < set(EVERY_DAY):
            notes.append("The supplier takes orders on some weekdays only.")
        return tuple(notes)


def arrival(ordered_on: date, *, delivery: Delivery, calendar: WorkingDays) -> date:
    """Return the working day on which an order arrives."""
    if delivery.counts_working_days:
        return calendar.shifted(ordered_on, delivery.lead_days)
    return calendar.on_or_after(ordered_on + timedelta(days=delivery.lead_days))


def order_days(
    need_by: date, *, delivery: Delivery, calendar: WorkingDays, today: date
) -> OrderDays:
    """Return by when to order what must be usable on a day.

    Orders are placed on working days of the house; where the supplier takes none on any of them,
    on the supplier's weekdays.
    """
    arrive_by = calendar.on_or_before(need_by - timedelta(days=delivery.quarantine_days))
    next_order_on = today
    while not _can_order(next_order_on, delivery, calendar):
        next_order_on += _DAY
    arrives_on = arrival(next_order_on, delivery=delivery, calendar=calendar)
    return OrderDays(
        need_by=need_by,
        arrive_by=arrive_by,
        order_by=_latest_order(arrive_by, delivery, calendar),
        next_order_on=next_order_on,
        arrives_on=arrives_on,
        usable_on=arrives_on + timedelta(days=delivery.quarantine_days),
        today=today,
        delivery=delivery,
    )


def _latest_order(arrive_by: date, delivery: Delivery, calendar: WorkingDays) -> date:
    """Return the last day on which an order can be placed that arrives in time."""
    if delivery.counts_working_days:
        # any day up to the next working day counts the same working days
        day = calendar.shifted(calendar.shifted(arrive_by, -delivery.lead_days), 1) - _DAY
        day = min(day, arrive_by)
    else:
        day = arrive_by - timedelta(days=delivery.lead_days)
    while not _can_order(day, delivery, calendar):
        day -= _DAY
    return day


def _can_order(day: date, delivery: Delivery, calendar: WorkingDays) -> bool:
    if not _is_one(day, delivery.order_weekdays):
        return False
    common = set(delivery.order_weekdays or EVERY_DAY) & set(calendar.weekdays or EVERY_DAY)
    return calendar.works(day) or not common


def _is_one(day: date, weekdays: str) -> bool:
    return str(day.weekday()) in (weekdays or EVERY_DAY)
