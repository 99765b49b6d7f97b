"""What a kit takes from lots: forms, methods of analysis and boils follow the lot."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.kit_sheet import BoundKit, KitSheets, balanced
from tests.planning.engine.hop_kits import pouch
from tests.planning.engine.make import GOLD, PERLE, allotted, hop

POUCH = replace(pouch(15, 5, 40), item="perle")


def kit_of(*lines, **options) -> BoundKit:
    options = {"target_ibu": sum(line.reference_ibu for line in lines)} | options
    return BoundKit(hop_lines=lines, bound_items={}, resolution_mg=100, **options)


def test_form_and_method_of_a_lot_go_into_its_additions():
    cones = replace(hop(1, 900), form_factor=0.8, alpha_method="HPLC")
    perle = replace(hop(2, 900, alpha=0.04), alpha_method="conductometric")

    sheet = KitSheets(kit_of(GOLD, PERLE)).of({"gold": cones, "perle": perle})

    assert sheet.per_kit["gold"] == {"gold-60": 25_000}
    assert sheet.balance.rows[0].form_factor == 0.8
    assert "different methods" in sheet.balance.notes[0]


def test_a_batch_says_how_long_its_pouches_boil():
    lots = {"gold": [hop(1, 900)], "perle": [hop(2, 900, alpha=0.055)]}

    (batch,) = allotted(10, lots, lines=(GOLD, POUCH), current_minutes={POUCH.line: 20}).batches

    assert batch.weights[POUCH.line] == 28_000
    assert batch.balance.minutes[POUCH.line] < 15
    assert batch.balance.rows[1].minutes_before == 20


def test_a_kit_bittered_by_pouches_alone_needs_a_lot_within_their_limits():
    lots = {"perle": [hop(2, 900, alpha=0.02), hop(3, 900, alpha=0.05)]}

    (batch,) = allotted(10, lots, lines=(POUCH,)).batches

    assert batch.lots == {"perle": 3}


@settings(max_examples=60)
@given(
    kits=st.integers(1, 20),
    gold=st.lists(st.tuples(st.integers(0, 400), st.floats(0.04, 0.06)), min_size=1, max_size=3),
    perle=st.lists(st.tuples(st.integers(0, 900), st.floats(0.03, 0.07)), min_size=1, max_size=3),
)
def test_one_batch_is_made_wherever_one_is_possible_beside_whole_minutes(kits, gold, perle):
    lots = {
        "gold": [hop(at, grams, alpha=a) for at, (grams, a) in enumerate(gold)],
        "perle": [hop(10 + at, grams, alpha=a) for at, (grams, a) in enumerate(perle)],
    }
    kit = kit_of(GOLD, POUCH)
    possible = False
    for pair in product(*lots.values()):
        chosen = dict(zip(lots, pair, strict=True))
        found = balanced(kit, chosen)
        needed = {line.item: kits * found.weights[line.line] for line in kit.hop_lines}
        enough = all(needed[item] <= lot.available for item, lot in chosen.items())
        possible |= enough and not found.limits

    result = allotted(kits, lots, lines=(GOLD, POUCH))

    assert (len(result.batches) == 1 and result.kits == kits) == possible


def test_bittering_may_be_lighter_beside_the_weaker_pouch_when_that_boils_a_minute_longer():
    # 12 min at 5.6 % leave 20.4 g to bittering, 14 min at 5.5 % leave 19.7 g
    lots = {"gold": [hop(1, 197)], "perle": [hop(2, 900, alpha=0.056), hop(3, 900, alpha=0.055)]}

    (batch,) = allotted(10, lots, lines=(GOLD, POUCH)).batches

    assert (batch.kits, batch.lots["perle"]) == (10, 3)
    assert batch.weights["gold-60"] == 19_700


def test_a_lot_without_alpha_is_named():
    with pytest.raises(ValueError, match="lot H-1 has no alpha acid"):
        balanced(kit_of(GOLD), {"gold": hop(1, 900, alpha=None)})
