"""What lifts a limit: named, weighed, and enough of it at hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boxwort.figures import NO_BREAK
from planning.engine.kit_sheet import BoundKit, BoundLot, balanced
from planning.engine.remedies import (
    AnotherLot,
    ApprovedSubstitute,
    LotBlend,
    SubstituteLot,
    remedies,
)
from planning.engine.usage import quantity_needed
from recipes.brewing.roles import HopRole
from tests.planning.engine.hop_kits import pouch
from tests.planning.engine.make import GOLD, LATE_GOLD, PERLE, hop

GOLD_LINE = replace(GOLD, reference_mg=20_000)
WEAK = hop(1, 900, alpha=0.02)
NUGGET = ApprovedSubstitute(
    item="nugget",
    name="Nugget at 60 min",
    ratio=0.4,
    reference_mg=8_000,
    reference_alpha=0.125,
    ibu_per_gram=24.0,
)


def kit_of(*lines, **options) -> BoundKit:
    options = {"target_ibu": sum(line.reference_ibu for line in lines)} | options
    return BoundKit(hop_lines=lines, bound_items={}, resolution_mg=100, **options)


def found(kit, lots, candidates, *, kits=10, of=None, **options):
    limits = balanced(kit, lots).limits
    assert limits, "the kit meets no limit from these lots"
    rows = remedies(limits[0], kit=kit, lots=lots, candidates=candidates, kits=kits, **options)
    return [row for row in rows if of is None or isinstance(row, of)]


def test_another_lot_is_named_with_its_weight():
    candidates = {"gold": [WEAK, hop(2, 500, alpha=0.056)]}

    (remedy,) = found(kit_of(GOLD, PERLE), {"gold": WEAK}, candidates, of=AnotherLot)

    assert (remedy.line, remedy.item, remedy.poured.lot.code) == ("gold-60", "gold", "H-2")
    assert remedy.poured.per_kit == {"gold-60": 17_900}
    assert remedy.balance.limits == ()
    assert remedy.sentence.replace(NO_BREAK, " ") == (
        "Weigh lot H-2 at 5.6 % alpha acid: Magnum at 60 min 17.9 g a kit. "
        "10 kits take 179.0 g of the 500.0 g available; a kit comes to 31.3 IBU."
    )


def test_a_lot_that_is_weak_as_well_or_holds_too_few_kits_is_no_remedy():
    weak_too, small = hop(2, 900, alpha=0.024), hop(3, 178, alpha=0.056)

    assert (
        found(kit_of(GOLD, PERLE), {"gold": WEAK}, {"gold": [WEAK, weak_too, small]}, of=AnotherLot)
        == []
    )


def test_overage_counts_in_what_a_lot_must_hold():
    kit = kit_of(GOLD, overage={"gold": 0.02})
    just, short = (replace(hop(2, 0, alpha=0.05), available=mg) for mg in (204_000, 203_999))

    (remedy,) = found(kit, {"gold": WEAK}, {"gold": [just]}, of=AnotherLot)
    assert remedy.poured.needed == 204_000
    assert found(kit, {"gold": WEAK}, {"gold": [short]}, of=AnotherLot) == []


def test_all_lines_of_an_item_are_weighed_from_the_other_lot():
    candidates = {"gold": [hop(2, 500, alpha=0.05)]}

    (remedy,) = found(kit_of(GOLD, LATE_GOLD), {"gold": WEAK}, candidates, of=AnotherLot)

    assert remedy.poured.per_kit == {"gold-60": 20_000, "gold-0": 10_000}
    assert remedy.poured.needed == 300_000


def test_aroma_that_leaves_nothing_is_what_changes_lot():
    strong, mild = hop(11, 900, alpha=0.19), hop(12, 900, alpha=0.04)
    lots = {"gold": hop(1, 900), "perle": strong}

    rows = found(kit_of(GOLD, PERLE), lots, {"perle": [strong, mild]}, of=AnotherLot)

    (remedy,) = rows
    assert (remedy.line, remedy.item) == ("gold-60", "perle")
    assert "Perle at 15 min 15.0 g a kit; Magnum at 60 min is then 20.0 g." in remedy.sentence


def test_what_another_lot_asks_of_the_others_must_be_held_too():
    strong, mild = hop(11, 900, alpha=0.19), hop(12, 900, alpha=0.04)
    lots = {"gold": hop(1, 199), "perle": strong}

    assert found(kit_of(GOLD, PERLE), lots, {"perle": [mild]}, kits=10, of=AnotherLot) == []


def test_a_blend_states_its_proportions_and_what_is_weighed_of_either():
    strong = hop(2, 400, alpha=0.11)

    (blend,) = found(
        kit_of(GOLD, PERLE), {"gold": WEAK}, {"gold": [WEAK, strong]}, kits=40, of=LotBlend
    )

    assert blend.shares == pytest.approx((0.65, 0.35))
    assert blend.alpha == pytest.approx(0.65 * 0.02 + 0.35 * 0.11)
    weak_g, strong_g = (each.per_kit["gold-60"] / 1000 for each in blend.poured)
    assert (weak_g, strong_g) == (12.6, 6.8)
    assert blend.ibu_corrected == pytest.approx(24 * (weak_g * 0.02 + strong_g * 0.11) + 7.2)
    assert blend.ibu_corrected == pytest.approx(31.2, abs=0.05)
    assert [each.needed for each in blend.poured] == [504_000, 272_000]
    assert "65 % to 35 %, to 5.2 %" in blend.sentence.replace(NO_BREAK, " ")


def test_a_blend_keeps_to_what_either_lot_holds():
    # 35 % of the strong lot would be nearest the recipe, and take 204 g of it for 30 kits
    strong = hop(2, 200, alpha=0.11)

    (blend,) = found(
        kit_of(GOLD, PERLE), {"gold": WEAK}, {"gold": [WEAK, strong]}, kits=30, of=LotBlend
    )

    assert blend.shares == pytest.approx((0.7, 0.3))
    assert blend.poured[1].needed <= 200_000
    assert blend.balance.limits == ()


def test_two_lots_that_do_not_hold_the_kits_together_are_not_blended():
    rows = found(
        kit_of(GOLD, PERLE),
        {"gold": WEAK},
        {"gold": [hop(2, 60, alpha=0.11)]},
        kits=60,
        of=LotBlend,
    )

    assert rows == []


def test_aroma_keeps_its_weight_in_a_blend():
    strong, mild = hop(11, 900, alpha=0.19), hop(12, 900, alpha=0.03)
    lots = {"gold": hop(1, 900), "perle": strong}

    (blend,) = found(kit_of(GOLD, PERLE), lots, {"perle": [mild]}, of=LotBlend)

    assert sum(each.per_kit["perle-15"] for each in blend.poured) == 15_000
    assert all(each.per_kit["perle-15"] % 100 == 0 for each in blend.poured)
    assert blend.ibu_corrected == pytest.approx(31.2, abs=0.4)


def test_a_blend_of_pellets_and_cones_counts_what_each_form_gives():
    cones = replace(hop(2, 900, alpha=0.11), form_factor=0.8)

    (blend,) = found(kit_of(GOLD), {"gold": WEAK}, {"gold": [cones]}, of=LotBlend)

    weak_g, cones_g = (each.per_kit["gold-60"] / 1000 for each in blend.poured)
    assert blend.ibu_corrected == pytest.approx(24 * (weak_g * 0.02 + cones_g * 0.11 * 0.8))
    assert blend.ibu_corrected == pytest.approx(24.0, abs=0.05)


def test_an_approved_substitute_is_named_with_its_weight():
    candidates = {"gold": [WEAK], "nugget": [hop(21, 500, alpha=0.13)]}

    (remedy,) = found(
        kit_of(GOLD, PERLE), {"gold": WEAK}, candidates, substitutes={"gold-60": [NUGGET]}
    )

    assert isinstance(remedy, SubstituteLot)
    # 24 IBU at 24 x 0.13 a gram
    assert remedy.poured.per_kit == {"gold-60": 7_700}
    assert remedy.sentence.replace(NO_BREAK, " ") == (
        "Use the approved substitute for Magnum at 60 min (0.4 to 1) from lot H-21 at 13.0 % alpha "
        "acid: Nugget at 60 min 7.7 g a kit. 10 kits take 77.0 g of the 500.0 g available; a kit "
        "comes to 31.2 IBU."
    )


def test_a_substitute_that_the_kit_holds_already_comes_from_the_same_lot():
    perle = replace(NUGGET, item="perle", name="Perle at 60 min", reference_alpha=0.04)
    perle = replace(perle, reference_mg=25_000, ratio=1.25)
    own = hop(11, 900, alpha=0.04)
    candidates = {"perle": [hop(12, 900, alpha=0.06)]}

    (remedy,) = found(
        kit_of(GOLD, PERLE),
        {"gold": WEAK, "perle": own},
        candidates,
        substitutes={"gold-60": [perle]},
        of=SubstituteLot,
    )

    assert remedy.poured.lot == own
    assert remedy.poured.per_kit == {"gold-60": 25_000, "perle-15": 15_000}


def test_a_pouch_that_would_boil_too_long_gets_another_lot_and_its_minutes():
    line = pouch(45, 30, 75)
    lots = {"gold": hop(1, 900, alpha=0.03)}
    candidates = {"gold": [hop(2, 900, alpha=0.052), hop(3, 900, alpha=0.08)]}

    rows = found(kit_of(line), lots, candidates)

    another = rows[0]
    assert isinstance(another, AnotherLot)
    assert another.poured.per_kit == {"pouch-45": 28_000}
    assert another.balance.minutes == {"pouch-45": 41}
    assert "28.0 g, boiled 41 min, a kit" in another.sentence
    assert [type(row) for row in rows].count(LotBlend) == 3
    assert all(
        sum(each.per_kit["pouch-45"] for each in blend.poured) == 28_000 for blend in rows[1:]
    )


def test_a_remedy_may_leave_another_limit_but_makes_none():
    held = replace(PERLE, role=HopRole.HOLD_BITTERNESS)
    lots = {"gold": hop(1, 900, alpha=0.012), "perle": hop(11, 900, alpha=0.01)}
    kit = kit_of(GOLD, held)
    gold, perle = balanced(kit, lots).limits
    candidates = {"gold": [hop(2, 900, alpha=0.08)], "perle": [hop(12, 900, alpha=0.05)]}

    for limit, item in ((gold, "gold"), (perle, "perle")):
        rows = remedies(limit, kit=kit, lots=lots, candidates=candidates, kits=10)
        first = next(row for row in rows if isinstance(row, AnotherLot))
        assert first.item == item
        assert limit.line not in {each.line for each in first.balance.limits}


def test_nothing_at_hand_is_no_remedy():
    assert found(kit_of(GOLD), {"gold": WEAK}, {"gold": [WEAK, hop(2, 900, alpha=None)]}) == []


LOTS = st.lists(st.tuples(st.floats(0.01, 0.2), st.integers(0, 900)), max_size=4)


@given(
    weak=st.floats(0.01, 0.024),
    gold=LOTS,
    perle=st.floats(0.02, 0.06),
    kits=st.integers(1, 60),
    overage=st.sampled_from([0.0, 0.02]),
)
def test_every_remedy_meets_the_target_and_holds_the_kits(weak, gold, perle, kits, overage):
    kit = kit_of(GOLD_LINE, PERLE, overage={"gold": overage})
    lots = {"gold": hop(1, 900, alpha=weak), "perle": hop(11, 10_000, alpha=perle)}
    candidates = {"gold": [hop(2 + at, grams, alpha=a) for at, (a, grams) in enumerate(gold)]}
    limits = balanced(kit, lots).limits
    if not limits:
        return

    for remedy in remedies(limits[0], kit=kit, lots=lots, candidates=candidates, kits=kits):
        poured = remedy.poured if isinstance(remedy, LotBlend) else (remedy.poured,)
        assert remedy.balance.limits == ()
        coarsest = max(each.lot.alpha for each in poured) * 24 * 0.1
        assert remedy.ibu_corrected == pytest.approx(31.2, abs=coarsest / 2 + 1e-8)
        for each in poured:
            asked = sum(quantity_needed(kits, mg, overage) for mg in each.per_kit.values())
            assert each.needed == asked <= each.lot.available
            assert all(mg % 100 == 0 for mg in each.per_kit.values())


def test_lots_are_offered_in_the_order_given_and_three_at_most():
    gold = [hop(number, 900, alpha=0.05) for number in range(2, 8)]

    rows = found(kit_of(GOLD), {"gold": WEAK}, {"gold": gold}, of=AnotherLot)

    assert [row.poured.lot.lot for row in rows] == [2, 3, 4]


def test_lot_of_which_nothing_is_known_is_not_blended():
    unknown = BoundLot(lot=5, code="H-5", available=900_000)

    assert found(kit_of(GOLD), {"gold": WEAK}, {"gold": [unknown]}, of=LotBlend) == []
