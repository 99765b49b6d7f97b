"""Every public figure of the trade can be checked by hand from what it shows."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import Any

import pytest

from boxwort.working import Term, Working
from inventory.ageing.hops import (
    Stretch,
    alpha_after,
    alpha_from_harvest,
    lost_since_harvest,
    rate_between,
)
from inventory.ageing.yeast import (
    DryStretch,
    LiquidStretch,
    ViabilityRule,
    dry_activity,
    viability,
    viability_after,
)
from planning.engine.allotment import batches_of
from planning.engine.balance import balance
from planning.engine.best_before import Component, best_before
from planning.engine.calendar import Delivery, OrderDays, WorkingDays, order_days
from planning.engine.chosen_lots import ChosenBatch, cut_as_chosen
from planning.engine.cutting import Stretch as CutStretch
from planning.engine.kit_cost import CostedPart, kit_cost, margin
from planning.engine.kit_sheet import BoundKit, KitSheets, balanced
from planning.engine.newsvendor import critical_ratio, discrete_stock, last_run, normal_stock
from planning.engine.order_quantity import discounted_order_quantity, economic_order_quantity
from planning.engine.pitching import pitch, starter
from planning.engine.remedies import remedies
from recipes.brewing.alcohol import alcohol_by_volume
from recipes.brewing.attenuation import final_gravity
from recipes.brewing.bitterness import bitterness
from recipes.brewing.boil import boil_gravity
from recipes.brewing.calibration import calibrated, pooled
from recipes.brewing.colour import colour
from recipes.brewing.extract import original_gravity
from recipes.brewing.figures import Brew, boil_schedule, figures, hop_additions
from recipes.brewing.parity import parity
from recipes.brewing.pitch import dry_pitch, liquid_pitch
from recipes.brewing.power import adjunct_share, grist_power
from recipes.brewing.priming import (
    PrimingRule,
    priming_sugar,
    residual_co2,
    sugar_per_volume,
    volumes_from,
)
from recipes.brewing.roles import Family, HopRole, Use
from recipes.brewing.spectrum import beer_colour
from recipes.brewing.stand import Stand, stand_working
from recipes.brewing.strike import (
    absorbed_water,
    first_runnings,
    mash_water,
    strike_temperature,
)
from recipes.brewing.substitution import suggested_ratio
from tests.house.workings import PROSE, evaluated, faults, figure_makers, with_parts, workings_in
from tests.planning.engine.horizons import pack_line
from tests.planning.engine.make import DAY, GOLD, PERLE, allotted, hop, yeast
from tests.recipes.brewing.brews import (
    ALL_GRAIN,
    BITTERING,
    CORN_SUGAR,
    DRY_EXTRACT,
    EXTRACT,
    FLAKED_CORN,
    FLAVOUR,
    LATE,
    PALE_MALT,
)

ROOMS = ("recipes.brewing", "inventory.ageing", "planning.engine", "boxwort.laboratory")
STOOD: Brew = replace(
    EXTRACT,
    fermentables=(*EXTRACT.fermentables, CORN_SUGAR, replace(CORN_SUGAR, use=Use.PRIMING)),
    hops=(*EXTRACT.hops, replace(LATE, use=Use.FIRST_WORT), replace(LATE, use=Use.WHIRLPOOL)),
    stand=Stand(minutes=20.0, from_c=98.0, to_c=80.0),
)
GRIST = (PALE_MALT, replace(FLAKED_CORN, kg=1.0), CORN_SUGAR)
WORT: dict[str, float] = {"wort_volume_l": 20.0, "mash_efficiency": 0.75}
PRIMED: dict[str, Any] = {
    "volume_l": 19.0,
    "highest_temperature_c": 18.0,
    "sugar": Family.SUCROSE,
    "rule": PrimingRule.STOICHIOMETRY,
}
STORED = (
    Stretch(days=40, temperature_c=4.0, storage_factor=0.5),
    Stretch(days=20, temperature_c=20.0, storage_factor=0.75),
)
KEPT = (
    LiquidStretch(days=30, temperature_c=4.0),
    LiquidStretch(days=3, temperature_c=22.0),
)
MOVED = replace(
    GOLD,
    line="gold-30",
    name="Magnum at 30 min",
    role=HopRole.MOVE_TIME,
    minutes=30,
    ibu_per_gram=18.0,
    minutes_table={29: 17.5, 30: 18.0, 31: 18.4},
)
HOPS = [GOLD, PERLE, replace(MOVED, alpha=0.051, form_factor=0.9)]
LOTS = {"gold": hop(1, 900, alpha=0.056)}
WEAK = {"gold": hop(1, 900, alpha=0.015)}
BOX = BoundKit(
    target_ibu=31.2, hop_lines=[GOLD, PERLE], bound_items={"yeast": 1}, resolution_mg=100
)

WITH_YEAST = {
    "yeast": yeast(3, 90),
    "gold": hop(1, 900, alpha=0.056),
    "perle": hop(2, 900),
}


def _ordered(quarantine_days: int) -> OrderDays:
    delivery = Delivery(
        lead_days=5,
        counts_working_days=True,
        order_weekdays="1",
        quarantine_days=quarantine_days,
    )
    house = WorkingDays(weekdays="01234", days_off=frozenset({date(2026, 12, 25)}))
    return order_days(
        date(2026, 12, 29), delivery=delivery, calendar=house, today=date(2026, 12, 1)
    )


def _limited() -> object:
    (limit,) = balanced(BOX, WEAK).limits
    strong = hop(2, 900, alpha=0.06)
    return remedies(
        limit, kit=BOX, lots=WEAK, candidates={"gold": [*WEAK.values(), strong]}, kits=10
    )


def _calibrations() -> list[Any]:
    return [
        calibrated(ALL_GRAIN, measured_og=og, measured_volume_l=20.0, measured_fg=1.012)
        for og in (1.048, 1.050)
    ]


MALT_PART = CostedPart(name="Pale malt", packed=4_536_000, overage=0.01, cost=(320_000, 25_000_000))

MADE: Mapping[str, Callable[[], object]] = {
    "recipes.brewing.alcohol.alcohol_by_volume": lambda: alcohol_by_volume(1.052, 1.011),
    "recipes.brewing.attenuation.final_gravity": lambda: final_gravity(
        GRIST, strain_attenuation=0.76, **WORT
    ),
    "recipes.brewing.bitterness.bitterness": lambda: bitterness(hop_additions(STOOD), 20.0),
    "recipes.brewing.boil.boil_gravity": lambda: boil_gravity(15.0, boil_schedule(STOOD)),
    "recipes.brewing.calibration.calibrated": _calibrations,
    "recipes.brewing.calibration.pooled": lambda: pooled(_calibrations()),
    "recipes.brewing.colour.colour": lambda: colour(GRIST, wort_volume_l=20.0),
    "recipes.brewing.extract.original_gravity": lambda: original_gravity(GRIST, **WORT),
    "recipes.brewing.figures.figures": lambda: (figures(STOOD), figures(ALL_GRAIN)),
    "recipes.brewing.figures.hop_additions": lambda: hop_additions(STOOD),
    "recipes.brewing.parity.ParityRow.working": lambda: [
        row.working() for row in parity(figures(EXTRACT), figures(ALL_GRAIN), same_yeasts=True).rows
    ],
    "recipes.brewing.pitch.liquid_pitch": lambda: liquid_pitch(
        pitch_rate_million=0.75, volume_l=20.0, plato=12.0, cells_per_pack=100e9, viability=0.8
    ),
    "recipes.brewing.pitch.dry_pitch": lambda: dry_pitch(
        dose_g_per_hl=60.0, volume_l=23.0, grams_per_pack=11.0, activity=0.9
    ),
    "recipes.brewing.power.grist_power": lambda: grist_power(GRIST),
    "recipes.brewing.power.adjunct_share": lambda: adjunct_share(GRIST, 0.75),
    "recipes.brewing.priming.residual_co2": lambda: residual_co2(18.0),
    "recipes.brewing.priming.sugar_per_volume": lambda: [
        sugar_per_volume(Family.GLUCOSE_MONOHYDRATE, rule) for rule in PrimingRule
    ],
    "recipes.brewing.priming.priming_sugar": lambda: [
        priming_sugar(volumes=volumes, **PRIMED) for volumes in (0.5, 2.4, 3.2)
    ],
    "recipes.brewing.priming.volumes_from": lambda: volumes_from(grams=120.0, **PRIMED),
    "recipes.brewing.spectrum.beer_colour": lambda: beer_colour(11.0),
    "recipes.brewing.stand.stand_working": lambda: stand_working(
        Stand(minutes=20.0, from_c=98.0, to_c=80.0), 10.0
    ),
    "recipes.brewing.strike.strike_temperature": lambda: strike_temperature(
        mash_l_per_kg=2.7, grain_c=20.0, mash_c=66.0
    ),
    "recipes.brewing.strike.mash_water": lambda: mash_water(grain_kg=4.8, mash_l_per_kg=2.7),
    "recipes.brewing.strike.absorbed_water": lambda: absorbed_water(grain_kg=4.8),
    "recipes.brewing.strike.first_runnings": lambda: first_runnings(
        grain_kg=4.8, mash_l_per_kg=2.7
    ),
    "recipes.brewing.substitution.suggested_ratio": lambda: [
        suggested_ratio(DRY_EXTRACT, CORN_SUGAR),
        suggested_ratio(BITTERING, replace(FLAVOUR, alpha=0.05)),
        suggested_ratio(LATE, FLAVOUR),
    ],
    "inventory.ageing.hops.alpha_after": lambda: alpha_after(0.112, 0.002, STORED),
    "inventory.ageing.hops.lost_since_harvest": lambda: [
        lost_since_harvest(index) for index in (0.2, 0.31, 2.5)
    ],
    "inventory.ageing.hops.rate_between": lambda: rate_between(0.28, 0.34, STORED),
    "inventory.ageing.hops.alpha_from_harvest": lambda: alpha_from_harvest(0.12, 0.33),
    "inventory.ageing.yeast.viability": lambda: [
        viability(rule, days) for rule in ViabilityRule for days in (30, 200)
    ],
    "inventory.ageing.yeast.viability_after": lambda: [
        viability_after(rule, KEPT, 0.95) for rule in ViabilityRule
    ],
    "inventory.ageing.yeast.dry_activity": lambda: dry_activity(
        [DryStretch(name="Storage", days=200, temperature_c=12.0)], 0.97
    ),
    "planning.engine.allotment.allot": lambda: allotted(
        10, {"gold": [hop(1, 900, alpha=0.056)], "perle": [hop(2, 900)]}
    ),
    "planning.engine.allotment.batches_of": lambda: batches_of(
        KitSheets(BOX), [CutStretch(kits=4, lots=WITH_YEAST)]
    ),
    "planning.engine.balance.Balance.working": lambda: (
        balance(target_ibu=50.0, lines=HOPS, resolution_mg=100).working
    ),
    "planning.engine.balance.balance": lambda: balance(
        target_ibu=20.0, lines=HOPS, resolution_mg=100
    ),
    "planning.engine.best_before.BestBefore.working": lambda: best_before(
        [
            Component(name="Pale malt", reason="crushed life", last_day=date(2027, 1, 8)),
            Component(name="Hops", reason="bitterness", last_day=date(2027, 3, 1)),
        ]
    ).working(date(2026, 12, 2)),
    "planning.engine.calendar.OrderDays.working": lambda: [
        _ordered(days).working() for days in (0, 3)
    ],
    "planning.engine.chosen_lots.cut_as_chosen": lambda: cut_as_chosen(
        BOX,
        [ChosenBatch(kits=4, lots={item: lot.lot for item, lot in WITH_YEAST.items()})],
        {item: [lot] for item, lot in WITH_YEAST.items()},
        DAY,
    ),
    "planning.engine.horizon.PackLine.sheet": lambda: pack_line(
        1, 10, {"gold": [hop(1, 900)], "perle": [hop(2, 900)]}
    ).sheet(CutStretch(kits=10, lots={"gold": hop(1, 900), "perle": hop(2, 900)})),
    "planning.engine.kit_sheet.KitSheets.of": lambda: KitSheets(BOX).of(LOTS),
    "planning.engine.kit_sheet.balanced": lambda: balanced(BOX, LOTS),
    "planning.engine.kit_cost.CostedPart.working": lambda: MALT_PART.working("EUR"),
    "planning.engine.kit_cost.kit_cost": lambda: kit_cost(
        [MALT_PART, CostedPart(name="Label", packed=1)], currency="EUR"
    ),
    "planning.engine.kit_cost.margin": lambda: margin(400_000, Fraction(310_000), currency="EUR"),
    "planning.engine.newsvendor.critical_ratio": lambda: critical_ratio(short=3.0, over=1.0),
    "planning.engine.newsvendor.discrete_stock": lambda: discrete_stock(
        {8: 0.5, 9: 0.3, 10: 0.2}, short=3.0, over=1.0
    ),
    "planning.engine.newsvendor.last_run": lambda: [
        last_run(forecast=kits, spread_share=0.3, margin=margin, cost=180_000)
        for kits, margin in ((0, 120_000), (40, 120_000), (40, 100))
    ],
    "planning.engine.newsvendor.normal_stock": lambda: normal_stock(
        mean=40, spread=12, short=3.0, over=1.0
    ),
    "planning.engine.order_quantity.discounted_order_quantity": lambda: discounted_order_quantity(
        demand=800, order_cost=60, holding_share=0.3, breaks=((1, 53.0), (200, 48.0))
    ),
    "planning.engine.order_quantity.economic_order_quantity": lambda: economic_order_quantity(
        demand=1_300, order_cost=8, keeping=0.225
    ),
    "planning.engine.pitching.pitch": lambda: pitch(
        packs=2, alive=viability(ViabilityRule.LINEAR, 40), fill=0.95, asked=1.8
    ),
    "planning.engine.pitching.starter": lambda: starter(cells_missing=60e9),
    "planning.engine.remedies.remedies": _limited,
}
"""How each figure is made here, with numbers that it may really meet."""

DENSITY = Working(
    name="Density",
    formula="weight / volume, volume = side^3",
    terms=(
        Term(name="weight", value=16.0, unit="g"),
        Term(name="volume", value=8.0, unit="mL"),
        Term(name="side", value=2.0, unit="cm"),
    ),
    value=2.0,
    unit="g/mL",
    source="its definition",
)


def test_every_public_figure_is_made_here_and_nothing_else_is():
    found = {name for room in ROOMS for name in figure_makers(room)}
    assert found == set(MADE)


@pytest.mark.parametrize("name", MADE)
def test_a_figure_can_be_checked_by_hand(name):
    made = list(workings_in(MADE[name]()))
    assert made
    assert [fault for working in made for fault in faults(working)] == []


@pytest.mark.parametrize("name", MADE)
def test_a_figure_is_the_same_after_it_was_stored(name):
    for working in workings_in(MADE[name]()):
        assert Working.from_json(working.as_json()) == working


def test_each_formula_that_is_prose_is_still_in_use():
    formulas = {
        part.formula
        for make in MADE.values()
        for working in workings_in(make())
        for part in with_parts(working)
    }
    for beginning in PROSE:
        assert any(formula.startswith(beginning) for formula in formulas), beginning


@pytest.mark.parametrize(
    "wrong",
    [
        {"value": 2.1},
        {"source": ""},
        {"formula": "weight / room"},
        {"formula": "weight of it"},
        {"formula": "weight / volume, volume = side^2"},
        {"formula": "weight / volume, give or take"},
        {"formula": "__import__('os')"},
        {"terms": (Term(name="weight", value=16.0, unit=""), *DENSITY.terms[1:])},
        {"terms": (Term(name="weight", value=float("nan"), unit="g"), *DENSITY.terms[1:])},
        {"parts": (replace(DENSITY, value=3.0),)},
    ],
)
def test_a_figure_that_cannot_be_checked_is_found_out(wrong):
    assert faults(DENSITY) == []
    assert faults(replace(DENSITY, **wrong))


@pytest.mark.parametrize(
    ("formula", "value"),
    [
        ("weight / 3, rounded up", 6.0),
        ("volume - weight, not below zero", 0.0),
        ("side, at least volume", 8.0),
        ("10 * weight, from 0 to 100", 100.0),
        ("|side - weight|", 14.0),
        ("max(0, side - weight) + exp(0) - ln(1) + log10(10)", 2.0),
    ],
)
def test_a_formula_is_computed_as_it_reads(formula, value):
    assert evaluated(replace(DENSITY, formula=formula)) == value
