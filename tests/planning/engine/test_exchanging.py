"""Lines served anew beside others, each from what both give up."""

from __future__ import annotations

from hypothesis import given, settings

from planning.engine.aims import aims_of
from planning.engine.cutting import Stretch
from planning.engine.exchanging import exchanged
from planning.engine.horizon import kits_of
from planning.engine.recheck import faults
from planning.engine.serving import greedy, literal
from tests.planning.engine.horizons import cut_of, horizon, horizons, pack_line
from tests.planning.engine.make import PERLE, hop


def two_lines(small, large):
    """Lines of eight and of ten kits, 15 g each; the first begins in the large lot, ten kits."""
    old = hop(0, small, alpha=0.04, last=20)
    new = hop(1, large, alpha=0.04, last=30)
    asked = horizon(
        *(
            pack_line(at, kits, {"perle": [old, new]}, lines=(PERLE,), minimum=2)
            for at, kits in ((1, 8), (2, 10))
        )
    )
    begun = {
        1: (Stretch(kits=8, lots={"perle": new}),),
        2: (Stretch(kits=8, lots={"perle": old}), Stretch(kits=2, lots={"perle": new})),
    }
    return asked, begun


def test_two_lines_change_places_where_that_saves_a_batch():
    """The lots hold eight and ten kits: each line has its own once the first gives way."""
    asked, begun = two_lines(120, 150)
    found = exchanged(asked, begun)
    assert [cut_of(found, at, "perle") for at in (1, 2)] == [[(8, 0)], [(10, 1)]]


def test_a_line_alone_takes_what_has_become_free():
    asked, begun = two_lines(150, 150)
    found = exchanged(asked, begun)
    assert [cut_of(found, at, "perle") for at in (1, 2)] == [[(8, 1)], [(10, 0)]]


def test_no_more_ways_are_tried_than_may_be_and_none_once_it_is_stopped():
    asked, begun = two_lines(120, 150)
    assert exchanged(asked, begun, tried=0) == begun
    assert exchanged(asked, begun, tried=1) == begun  # the line alone cannot gain
    assert exchanged(asked, begun, stop=lambda: True) == begun


@settings(max_examples=60)
@given(horizons())
def test_no_line_loses_a_kit_and_no_batch_is_added(asked):
    for begun in (greedy(asked), literal(asked)):
        found = exchanged(asked, begun)
        before, after = aims_of(asked, begun), aims_of(asked, found)

        assert faults(asked, found) == []
        assert {at: kits_of(cut) for at, cut in found.items()} == {
            at: kits_of(cut) for at, cut in begun.items()
        }
        assert (after.under_minimum, after.batches) <= (before.under_minimum, before.batches)
