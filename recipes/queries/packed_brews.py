"""A brew as it comes out of the box: amounts on the steps of the scales they are weighed on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from boxwort.accounts.queries import site_settings
from boxwort.errors import Refusal
from boxwort.quantities import MG_PER_G, MG_PER_KG
from recipes.brewing.bill import packed_amount
from recipes.brewing.containers import made_up
from recipes.brewing.extract import Fermentable
from recipes.brewing.figures import Brew, Hop
from recipes.brewing.roles import HopRole
from recipes.queries.contents import MethodContent, is_hop

# A gram is less than a thousandth of the smallest malt bag: no figure feels it.
GRIST_STEP_MG = 1000
# Their grams never move, so they count as they are weighed.
WEIGHT_STAYS = frozenset({HopRole.HOLD_WEIGHT, HopRole.MOVE_TIME})


@dataclass(frozen=True, kw_only=True)
class Scales:
    """What the house weighs with, in milligrams, and what it says of the forms of hops."""

    pouch_step_mg: int
    division_mg: int
    form_factors: Mapping[str, float]


def house_scales() -> Scales:
    """Return the scales and form factors of the site's settings."""
    site = site_settings()
    return Scales(
        pouch_step_mg=site.pouch_resolution_mg,
        division_mg=site.scale_division_mg,
        form_factors=site.form_factors,
    )


def hop_steps(content: MethodContent, scales: Scales) -> list[int]:
    """Return the step in mg of each hop of a method: the pouch scale's, or a whole sachet."""
    return [line["container"] or scales.pouch_step_mg for line in content["lines"] if is_hop(line)]


def as_packed(brew: Brew, steps_mg: Sequence[int]) -> Brew:
    """Return the brew with the hops whose weight stays on the steps they are packed in."""
    return replace(
        brew,
        hops=tuple(
            _on_step(hop, step) if hop.role in WEIGHT_STAYS else hop
            for hop, step in zip(brew.hops, steps_mg, strict=True)
        ),
    )


def in_the_box(brew: Brew, steps_mg: Sequence[int]) -> Brew:
    """Return the brew with every fermentable and hop as it is weighed into the box."""
    brew = boxed(brew).brew
    return replace(
        brew,
        fermentables=tuple(
            replace(line, kg=_packed_mg(line) / MG_PER_KG) for line in brew.fermentables
        ),
        hops=tuple(_on_step(hop, step) for hop, step in zip(brew.hops, steps_mg, strict=True)),
    )


def _on_step(hop: Hop, step_mg: int) -> Hop:
    return replace(hop, grams=packed_amount(hop.grams * MG_PER_G, step_mg) / MG_PER_G)


def _packed_mg(line: Fermentable) -> int:
    """Return what is packed of a line: on the step of the grain scale, or a whole container."""
    exact = line.kg * MG_PER_KG
    return packed_amount(exact, GRIST_STEP_MG) if line.container_kg is None else round(exact)


@dataclass(frozen=True, kw_only=True)
class Boxed:
    """A brew with whole containers: what is packed of each fermentable they touch, and why.

    ``packed_mg`` and ``reasons`` go by the place of the fermentable in the brew.
    """

    brew: Brew
    packed_mg: Mapping[int, int]
    reasons: Mapping[int, str]


def boxed(brew: Brew) -> Boxed:
    """Return the brew with tins and sachets whole, and the remainder made up by what divides.

    Raises
    ------
    Refusal: ``container-too-big`` when a whole one leaves nothing of what divides.
    """
    made = made_up(brew.fermentables, brew.mash_efficiency)
    lines = list(enumerate(zip(brew.fermentables, made.fermentables, strict=True)))
    for _, (was, now) in lines:
        if was.kg > 0 and now.kg == 0:
            raise Refusal(
                "container-too-big",
                f"Whole containers leave no {was.name} at this size: {'; '.join(made.reasons)}.",
                "Choose a larger size, or an item that can be divided.",
            )
    touched = {place: now for place, (was, now) in lines if was.container_kg or was.kg != now.kg}
    return Boxed(
        brew=replace(brew, fermentables=made.fermentables),
        packed_mg={place: _packed_mg(now) for place, now in touched.items()},
        reasons={place: _reason(now, made.reasons) for place, now in touched.items()},
    )


def _reason(line: Fermentable, reasons: Sequence[str]) -> str:
    """Return why a line is not packed as designed: its own reason, or that of those it helps."""
    name = f"{line.name}: "
    own = [said.removeprefix(name) for said in reasons if said.startswith(name)]
    return "; ".join(own or [said for said in reasons if line.name in said])
