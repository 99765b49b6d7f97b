"""What can still be done about an order that is too late, in the order of the trouble it makes."""

from __future__ import annotations

from datetime import date

from boxwort.figures import NO_BREAK
from boxwort.quantities import Measure
from planning.engine.past_due import Shortage, Source, StandIn, advice, ways_out

LATE = Source(name="Ebberly Malt", usable_on=date(2026, 12, 9))


def shortage(**facts):
    return Shortage(
        **{
            "need_by": date(2026, 12, 4),
            "short": 5_000,
            "measure": Measure.MASS,
            "usable": 52_000,
            "runs": ("RUN-7", "RUN-8"),
            "kits": 30,
            "per_kits": (1_900,),
            "ordered": LATE,
            **facts,
        }
    )


def told(**facts):
    short = shortage(**facts)
    return [text.replace(NO_BREAK, " ") for text in advice(short, ways_out(short))]


def test_run_can_be_smaller_faster_or_later():
    assert told() == [
        "Pack 27 of the 30 kits of RUN-7 now.",
        "Ask Ebberly Malt for delivery 5 days faster.",
        "Move RUN-7, RUN-8 to 9 Dec 2026 or later.",
    ]


def test_quarantine_is_released_first_and_may_not_be_enough():
    assert told(quarantine=6_000)[0] == (
        "6.0 g waits in quarantine: release it if its certificate is good."
    )
    assert told(quarantine=4_000)[0].endswith("It is not all that is missing.")
    assert ways_out(shortage(quarantine=6_000)).released == 5_000


def test_other_suppliers_in_time_are_named_the_soonest_first():
    sources = (
        Source(name="Stonecroft", usable_on=date(2026, 12, 4)),
        Source(name="Alder & Daughter", usable_on=date(2026, 12, 3)),
        Source(name="Far Maltings", usable_on=date(2026, 12, 5)),
    )
    found = ways_out(shortage(others=sources))

    assert [source.name for source in found.in_time] == ["Alder & Daughter", "Stonecroft"]
    assert found.later_on == date(2026, 12, 3)
    assert "Move RUN-7, RUN-8" not in " ".join(told(others=sources))
    assert told(others=sources)[0] == (
        "Alder & Daughter can deliver in time, for 3 Dec 2026: order it there."
    )


def test_later_day_is_that_of_the_soonest_supplier():
    sources = (Source(name="Far Maltings", usable_on=date(2026, 12, 5)),)

    assert told(others=sources)[-1] == "Move RUN-7, RUN-8 to 5 Dec 2026 or later."


def test_substitute_is_named_where_there_is_enough_of_it():
    stand_ins = (
        StandIn(name="Pale malt (MALT-2)", stands_for=5_000),
        StandIn(name="Amber malt (MALT-9)", stands_for=4_999),
    )

    assert told(stand_ins=stand_ins)[0] == (
        "Pale malt (MALT-2) is approved in its place, and there is enough of it."
    )
    assert len(ways_out(shortage(stand_ins=stand_ins)).stand_ins) == 1


def test_safety_stock_alone_moves_no_run():
    assert told(runs=(), kits=0) == [
        "No run waits for it: only the safety stock is touched until it arrives."
    ]


def test_run_of_which_no_kit_can_be_packed_is_not_made_smaller():
    assert ways_out(shortage(usable=0)).kits_now == 0
    assert told(usable=0)[0] == "Ask Ebberly Malt for delivery 5 days faster."


def test_delivery_a_day_late_is_asked_a_day_faster():
    late = Source(name="Ebberly Malt", usable_on=date(2026, 12, 5))

    assert "Ask Ebberly Malt for delivery a day faster." in told(ordered=late)
