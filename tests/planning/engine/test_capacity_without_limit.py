"""A bench without a limit packs as one that is large enough for everything."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.capacity import RunRule, suggested_runs

DAYS = 6
KITS = st.lists(st.lists(st.integers(0, 9), min_size=DAYS, max_size=DAYS), min_size=3, max_size=3)
RULES = st.builds(
    RunRule,
    minimum=st.integers(1, 5),
    multiple=st.integers(1, 3),
    first=st.integers(0, 3),
    last=st.none() | st.integers(3, 5),
)
PLAIN = st.builds(RunRule, first=st.integers(0, 2))


@settings(max_examples=60)
@given(
    net=KITS,
    rules=st.lists(RULES | PLAIN, min_size=3, max_size=3),
    works=st.lists(st.sampled_from([True, True, False]), min_size=DAYS, max_size=DAYS),
)
def test_no_limit_is_the_same_as_a_bench_for_everything(net, rules, works):
    wanted, open_days = np.array(net), np.array(works)
    free = suggested_runs(wanted, rules, works=open_days)
    wide = suggested_runs(wanted, rules, works=open_days, capacity=np.full(DAYS, 10_000))
    assert (free.runs, free.late) == (wide.runs, wide.late)
    assert free.packed.tolist() == wide.packed.tolist()
