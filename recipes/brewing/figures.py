"""The front of the room: every figure of a brew at once.

See :mod:`recipes.brewing` for the conventions and a worked example.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from boxwort.working import Working, not_negative, positive
from recipes.brewing.alcohol import alcohol_by_volume
from recipes.brewing.attenuation import final_gravity
from recipes.brewing.bitterness import HopAddition, bitterness, contact_minutes
from recipes.brewing.boil import BoilSchedule, KettleExtract, boil_gravity, boil_gravity_for
from recipes.brewing.colour import colour
from recipes.brewing.extract import Fermentable, original_gravity, points_l
from recipes.brewing.power import grist_power, mashed_grain
from recipes.brewing.roles import FermentableKind, HopRole, MethodKind, Use
from recipes.brewing.stand import Stand, stand_working

_BOILED = frozenset({Use.MASH, Use.STEEP, Use.FIRST_WORT, Use.BOIL})


@dataclass(frozen=True, kw_only=True)
class Hop:
    """One hop line of a method.

    Attributes
    ----------
    name, grams, use, role: what it is, how much, when it goes in, and how its weight may move.
    alpha: alpha acid as a share, 0-1.
    minutes: before flame-out; of a whirlpool addition, before the end of the hop stand, where 0 is
        all of it. Not looked at for first-wort hops (see :class:`Brew`).
    form_factor: 1.0 unless the lot's form differs from the reference form.
    least_minutes, most_minutes: limits between which an addition that moves its time boils.
    """

    name: str
    grams: float
    alpha: float
    minutes: float
    use: Use
    role: HopRole = HopRole.HOLD_WEIGHT
    form_factor: float = 1.0
    least_minutes: float | None = None
    most_minutes: float | None = None


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
    stand: the hop stand after flame-out; None when none is declared.
    first_wort_minutes: what first-wort hops count for; None counts them as the whole boil.
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
    stand: Stand | None = None
    first_wort_minutes: float | None = None

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
    """Return the hop lines, each with the gravity of the boil and the hop stand it meets.

    What is in the kettle at flame-out has the whole stand, a whirlpool addition its last minutes.
    First-wort hops are in the kettle for the whole boil and meet its gravity, whatever time they
    are counted for.
    """
    schedule = boil_schedule(brew)
    return tuple(_addition(hop, brew, schedule) for hop in brew.hops)


def ibu_per_gram_by_minute(brew: Brew, index: int) -> dict[int, float]:
    """Return the IBU of a gram of pure alpha acid by minutes boiled, of a hop that moves its time.

    Parameters
    ----------
    index: place of the hop in ``brew.hops``; each whole minute from its least to its most is given.

    Raises
    ------
    ValueError: it has no limits, or they are not within the boil, or it does not boil.
    """
    hop = brew.hops[index]
    schedule = boil_schedule(brew)
    return {
        minutes: _addition(replace(hop, minutes=float(minutes)), brew, schedule).ibu_per_gram(
            brew.finished_volume_l
        )
        for minutes in _whole_minutes(hop, brew.boil_minutes)
    }


def _whole_minutes(hop: Hop, boil_minutes: float) -> range:
    if hop.use is not Use.BOIL:
        msg = f"{hop.name} cannot move its time, because it goes in at {hop.use.value}; boil it"
        raise ValueError(msg)
    if hop.least_minutes is None or hop.most_minutes is None:
        msg = f"{hop.name} moves its time, so give its least and its most minutes"
        raise ValueError(msg)
    whole = range(math.ceil(hop.least_minutes), math.floor(hop.most_minutes) + 1)
    if not whole or hop.least_minutes < 0 or hop.most_minutes > boil_minutes:
        msg = (
            f"{hop.name} cannot boil from {hop.least_minutes:g} to {hop.most_minutes:g} minutes; "
            f"give limits from 0 to the {boil_minutes:g} minutes of the boil"
        )
        raise ValueError(msg)
    return whole


def _addition(hop: Hop, brew: Brew, schedule: BoilSchedule) -> HopAddition:
    minutes, notes = _counted(hop, brew)
    first_wort = hop.use is Use.FIRST_WORT
    met = brew.boil_minutes if first_wort else contact_minutes(hop.use, hop.minutes)
    stood = _stood(hop, brew.stand)
    return HopAddition(
        name=hop.name,
        grams=hop.grams,
        alpha=hop.alpha,
        minutes=minutes,
        boil_gravity=boil_gravity_for(met, schedule),
        form_factor=hop.form_factor,
        use=hop.use,
        stand_minutes=math.fsum(part.value for part in stood),
        notes=notes,
        parts=stood,
    )


def _counted(hop: Hop, brew: Brew) -> tuple[float, tuple[str, ...]]:
    """Return the minutes of boil that a hop counts for, and in words why, if not its own."""
    if hop.use is not Use.FIRST_WORT:
        return hop.minutes, ()
    if brew.first_wort_minutes is None:
        return brew.boil_minutes, ("First-wort hops are counted as boiled for the whole boil.",)
    minutes = not_negative("time of first-wort hops", brew.first_wort_minutes)
    return minutes, (
        f"First-wort hops are counted as boiled for {minutes:g} min, as the method says, and not "
        f"for the whole boil of {brew.boil_minutes:g} min.",
    )


def _stood(hop: Hop, stand: Stand | None) -> tuple[Working, ...]:
    """Return the working of the hop stand as this hop meets it, or nothing."""
    if stand is None or hop.use in (Use.DRY_HOP, Use.FERMENTER):
        return ()
    last = hop.minutes if hop.use is Use.WHIRLPOOL and hop.minutes else None
    return (stand_working(stand, last),)


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
