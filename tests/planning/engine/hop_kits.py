"""Kits of any hops, for the properties that hold of every balance."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st

from planning.engine.hop_line import HopLine
from planning.engine.kit_sheet import BoundKit
from recipes.brewing.bitterness import ibu_per_gram
from recipes.brewing.roles import HopRole

ABSORB, HOLD, KEEP, MOVE = (
    HopRole.ABSORB,
    HopRole.HOLD_BITTERNESS,
    HopRole.HOLD_WEIGHT,
    HopRole.MOVE_TIME,
)
ALPHAS = st.floats(0.02, 0.2) | st.sampled_from([0.04, 0.05, 0.0625, 0.1, 0.125])
ANY_ROLES = st.lists(st.sampled_from([ABSORB, HOLD, KEEP, MOVE]), max_size=5)
FORMS = st.sampled_from([1.0, 1.0, 0.9, 1.1])


def given_by_minute(least: int, most: int) -> dict[int, float]:
    """IBU per gram of alpha acid after whole minutes in 20 L of wort at 1.050."""
    return {minute: ibu_per_gram(1.050, minute, 20.0) for minute in range(least, most + 1)}


def pouch(minutes: int, least: int, most: int, **changes) -> HopLine:
    """28 g of Magnum at 5 %, sold at that weight and boiled for as long as it takes."""
    table = given_by_minute(least, most)
    line = HopLine(
        line=f"pouch-{minutes}",
        item="gold",
        name=f"Magnum pouch at {minutes} min",
        role=MOVE,
        reference_mg=28_000,
        reference_alpha=0.05,
        ibu_per_gram=table[minutes],
        alpha=0.05,
        minutes=minutes,
        minutes_table=table,
    )
    return replace(line, **changes)


@st.composite
def hop_lines(draw, number: int, role: HopRole) -> HopLine:
    minutes = draw(st.integers(5, 60))
    table = given_by_minute(minutes - draw(st.integers(0, 5)), minutes + draw(st.integers(0, 30)))
    dry = role is KEEP and draw(st.booleans())
    alpha = draw(ALPHAS)
    return HopLine(
        line=f"line-{number}",
        item=draw(st.sampled_from(["gold", "perle", "ekg"])),
        name=f"Hop {number}",
        role=role,
        reference_mg=draw(st.integers(20, 600)) * 100,
        reference_alpha=alpha,
        ibu_per_gram=0.0 if dry else table[minutes],
        alpha=draw(st.just(alpha) | ALPHAS),
        form_factor=draw(FORMS),
        minutes=minutes,
        minutes_table=table if role is MOVE else {},
    )


@st.composite
def kits(draw, roles=ANY_ROLES):
    """A kit at its own target, or a little off it, so that limits are met as well."""
    lines = [draw(hop_lines(number, role)) for number, role in enumerate(draw(roles))]
    moved = [line for line in lines if line.moves_in_time]
    return BoundKit(
        target_ibu=sum(line.reference_ibu for line in lines)
        * draw(st.sampled_from([1.0, 1.0, 0.9])),
        hop_lines=lines,
        bound_items={},
        resolution_mg=draw(st.sampled_from([50, 100, 500])),
        most=draw(st.sampled_from([1.15, 2.0, 3.0])),
        current_mg={line.line: draw(st.integers(1, 400)) * 100 for line in lines[:1]},
        current_minutes={
            line.line: draw(st.sampled_from(sorted(line.minutes_table))) for line in moved[:1]
        },
    )
