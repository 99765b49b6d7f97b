from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boxwort.quantities import Measure
from recipes.brewing.bill import BillLine, bill, packed_amount

HOPS = BillLine(
    key="hops",
    code="HOP-1",
    measure=Measure.MASS,
    quantity=14_370.0,
    resolution=500,
    overage=0.0,
    part="hops",
    scale="the pouch scale",
)

amounts = st.floats(0, 1e8)
steps = st.integers(1, 10_000)


@given(amounts, steps)
def test_what_is_packed_is_on_the_scale_and_nearest(exact, step):
    packed = packed_amount(exact, step)
    assert packed % step == 0
    assert abs(packed - exact) <= step / 2 + 1e-3 or packed == step


@given(st.floats(1e-6, 1e8), steps)
def test_what_is_in_the_recipe_is_in_the_box(exact, step):
    assert packed_amount(exact, step) > 0


@given(amounts, steps, st.floats(0, 0.5), st.integers(0, 500))
def test_totals_are_kits_times_packed_plus_enough_for_losses(exact, step, overage, kits):
    line = replace(HOPS, quantity=exact, resolution=step, overage=overage)
    (row,) = bill((line,), kits=kits)
    assert row.total == row.packed_per_kit * kits + row.overage
    assert row.overage % step == 0
    assert 0 <= row.overage - row.packed_per_kit * kits * overage + 1e-3 < step + 2e-3


def test_a_whole_amount_needs_no_reason():
    (row,) = bill((replace(HOPS, quantity=14_500.0),), kits=10)
    assert (row.packed_per_kit, row.total, row.reason) == (14_500, 145_000, "")


def test_the_reason_is_in_plain_words():
    (row,) = bill((HOPS,), kits=10)
    assert row.reason == "14.37 g packed as 14.5 g: the pouch scale goes in steps of 0.5 g"


def test_grain_reads_in_kilograms():
    grain = replace(HOPS, quantity=2_267_961.85, resolution=5000, scale="the grain scale")
    (row,) = bill((grain,), kits=1)
    assert row.reason == "2.267962 kg packed as 2.27 kg: the grain scale goes in steps of 5 g"


def test_pieces_are_whole():
    packs = replace(HOPS, measure=Measure.COUNT, quantity=1.6, resolution=1, overage=0.02)
    (row,) = bill((packs,), kits=30)
    assert (row.packed_per_kit, row.overage, row.total) == (2, 2, 62)
    assert row.reason == (
        "1.60 packed as 2: only whole pieces go in a box; 2 more for losses of 2 %"
    )


def test_less_than_half_a_step_is_one_step_and_nothing_is_nothing():
    assert packed_amount(100.0, 500) == 500
    assert packed_amount(0.0, 500) == 0


def test_half_a_step_goes_up_even_when_the_float_falls_short():
    assert packed_amount(250.0, 500) == 500
    assert packed_amount(0.1 * 3 * 2500 - 1e-10, 500) == 1000


def test_a_loss_beneath_what_can_be_read_is_not_a_reason():
    (row,) = bill((replace(HOPS, quantity=14_500.2),), kits=1)
    assert row.reason == ""


def test_lines_keep_their_order_and_key():
    lines = [replace(HOPS, key=key) for key in ("b", "a", "c")]
    assert [row.line.key for row in bill(lines, kits=1)] == ["b", "a", "c"]


@pytest.mark.parametrize(
    ("change", "what"),
    [
        ({"quantity": -1.0}, "amount for one kit"),
        ({"resolution": 0}, "step of the scale"),
        ({"overage": 5}, "overage is a share"),
    ],
)
def test_impossible_lines_are_refused(change, what):
    with pytest.raises(ValueError, match=what):
        bill((replace(HOPS, **change),), kits=1)


def test_fewer_than_no_kits_are_refused():
    with pytest.raises(ValueError, match="number of kits"):
        bill((HOPS,), kits=-1)
