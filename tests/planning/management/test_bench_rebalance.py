"""The bench of re-balancing: what it prints, and that both ways of it agree."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from django.core.management import CommandError, call_command

from planning.engine.balances import Kits, rebalanced
from planning.engine.kit_sheet import BoundLot
from planning.management.commands.bench_rebalance import (
    BareKits,
    disagreements,
    each,
    made_up_kits,
)
from recipes.brewing.roles import HopRole

LOT = BoundLot(lot=1, code="NEW-LOT", available=0, alpha=0.112)


def test_it_prints_each_time_with_its_ratio(capsys):
    call_command("bench_rebalance", kits=12, repeat=2)

    told = capsys.readouterr().out
    assert "Re-balancing 12 kits against one new lot of Magnum" in told
    for what in ("all at once", "one by one", "bare arithmetic"):
        assert re.search(rf"^{what} +\d+ +\d+\.\d{{3}} +\d+\.\d$", told, re.MULTILINE), told
    assert "All at once and one by one agree in every kit." in told


def test_the_kits_have_every_role_and_some_change_with_the_lot():
    kits = made_up_kits(300)

    assert {line.role for kit in kits for line in kit.hop_lines} == set(HopRole)
    result = rebalanced(Kits.of(kits), item="Magnum", lot=LOT)
    assert disagreements(result, each(kits, "Magnum", LOT)) == 0
    weights = [[line.reference_mg for line in kit.hop_lines] for kit in kits]
    changed = [
        result.after_mg[row, : len(kept)].tolist() != kept for row, kept in enumerate(weights)
    ]
    assert sum(changed) > 100


def test_a_kit_that_differs_is_counted():
    kits = made_up_kits(3)
    result = rebalanced(Kits.of(kits), item="Magnum", lot=LOT)
    off = replace(result, ibu_corrected=result.ibu_corrected + np.array([0.0, 1e-6, 0.0]))

    assert disagreements(off, each(kits, "Magnum", LOT)) == 1


def test_the_bare_arithmetic_gives_the_weights_before_rounding():
    kits = made_up_kits(60)
    weights, today = BareKits(kits, "Magnum").exact_mg(0.112)

    for column, (kit, one) in enumerate(zip(kits, each(kits, "Magnum", LOT), strict=True)):
        assert today[column] == pytest.approx(one.ibu_unchanged)
        if one.minutes or one.limits:
            continue  # the bare arithmetic knows neither whole minutes nor limits
        for row, line in enumerate(kit.hop_lines):
            if line.moves:
                assert weights[row, column] == pytest.approx(one.rows[row].exact_mg)


@pytest.mark.parametrize("counts", [{"kits": 0}, {"repeat": 0}])
def test_nothing_to_time_is_refused(counts):
    with pytest.raises(CommandError, match="at least one"):
        call_command("bench_rebalance", **counts)
