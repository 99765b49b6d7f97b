"""The front of the room: every figure of a brew at once.

See :mod:`recipes.brewing` for the conventions and a worked example.
"""

from __future__ import annotations

from dataclasses import dataclass

from boxwort.working import Working, positive
from recipes.brewing.alcohol import alcohol_by_volume
from recipes.brewing.attenuation import final_gravity
from recipes.brewing.bitterness import HopAddition, bitterness, contact_minutes
from recipes.brewing.boil import BoilSchedule, KettleExtract, boil_gravity, boil_gravity_for
from recipes.brewing.colour import colour
from recipes.brewing.extract import Fermentable, original_gravity, points_l
from recipes.brewing.power import grist_power, mashed_grain
from recipes.brewing.roles import FermentableKind, HopRole, MethodKind, Use

_BOILED = frozenset({Use.MASH, Use.STEEP, Use.FIRST_WORT, Use.BOIL})


@dataclass(frozen=True, kw_only=True)
class Hop:
    """One hop line of a method: grams, alpha as a share (0-1), minutes of boil, use and role."""

    name: str
    grams: float
    alpha: float
    minutes: float
    use: Use
    role: HopRole = HopRole.HOLD_WEIGHT
    form_factor: float = 1.0


@dataclass(frozen=True, kw_only=True)
class Brew:
    """One method of a recipe at one size.

    Attributes
    ----------
    kind: extract, partial mash or all-grain.
    finished_volume_l: litres of beer the kit makes; IBU are counted in it.
    pre_boil_volume_l, post_boil_volume_l: litres in the kettle at 20 C. A partial boil ends below
        the finished volume and is topped up with water; a full boil may end above it, and what is
        left behind in the kettle takes its share of the extract with it.
    boil_minutes: length of the boil.
    mash_efficiency: share of the mashed grain's extract that reaches the kettle, 0-1.
    attenuation: the strain's apparent attenuation of all-malt wort, 0-1.
    """

    kind: MethodKind
    finished_volume_l: float
    pre_boil_volume_l: float
    post_boil_volume_l: float
    mash_efficiency: float
    attenuation: float
    fermentables: tuple[Fermentable, ...]
    hops: tuple[Hop, ...]
    boil_minutes: float = 60.0

    @property
    def wort_volume_l(self) -> float:
        """Litres that the extract is spread over: the kettle's, or topped up to the finished."""
        return max(self.finished_volume_l, self.post_boil_volume_l)


@dataclass(frozen=True, kw_only=True)
class Figures:
    """The figures of a brew; ``power`` is None when nothing is mashed."""

    og: Working
    fg: Working
    abv: Working
    ibu: Working
    srm: Working
    boil_gravity: Working
    power: Working | None


def figures(brew: Brew) -> Figures:
    """Return every figure of a brew with its working.

    Raises
    ------
    ValueError: the brew cannot be made; the sentence says why and what to do.
    """
    positive("finished volume", brew.finished_volume_l)
    _refuse_mash_without_mash_tun(brew)
    og = original_gravity(
        brew.fermentables,
        wort_volume_l=brew.wort_volume_l,
        mash_efficiency=brew.mash_efficiency,
    )
    fg = final_gravity(
        brew.fermentables,
        wort_volume_l=brew.wort_volume_l,
        mash_efficiency=brew.mash_efficiency,
        strain_attenuation=brew.attenuation,
    )
    return Figures(
        og=og,
        fg=fg,
        abv=alcohol_by_volume(og.value, fg.value),
        ibu=bitterness(hop_additions(brew), brew.finished_volume_l),
        srm=colour(brew.fermentables, wort_volume_l=brew.wort_volume_l),
        boil_gravity=boil_gravity(brew.boil_minutes, boil_schedule(brew)),
        power=grist_power(brew.fermentables) if mashed_grain(brew.fermentables) else None,
    )


def boil_schedule(brew: Brew) -> BoilSchedule:
    """Return what is in the kettle and when; extract at flame-out or later is left out."""
    return BoilSchedule(
        pre_boil_volume_l=brew.pre_boil_volume_l,
        post_boil_volume_l=brew.post_boil_volume_l,
        extracts=tuple(
            KettleExtract(
                name=line.name,
                points_l=points_l(line, brew.mash_efficiency),
                minutes=line.minutes if line.use is Use.BOIL else None,
            )
            for line in brew.fermentables
            if line.use in _BOILED
        ),
    )


def hop_additions(brew: Brew) -> tuple[HopAddition, ...]:
    """Return the hop lines, each with the gravity of the boil it meets."""
    schedule = boil_schedule(brew)
    return tuple(
        HopAddition(
            name=hop.name,
            grams=hop.grams,
            alpha=hop.alpha,
            minutes=hop.minutes,
            boil_gravity=boil_gravity_for(contact_minutes(hop.use, hop.minutes), schedule),
            form_factor=hop.form_factor,
            use=hop.use,
        )
        for hop in brew.hops
    )


def _refuse_mash_without_mash_tun(brew: Brew) -> None:
    if brew.kind is not MethodKind.EXTRACT:
        return
    for line in brew.fermentables:
        if line.use is Use.MASH and line.kind is FermentableKind.GRAIN:
            msg = (
                f"an extract method has no mash, and {line.name} is mashed; "
                "make it a partial mash, or use extract in its place"
            )
            raise ValueError(msg)
