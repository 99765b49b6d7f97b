"""What a trial brew says of a method: its mash efficiency, and how far its yeast goes.

Extract and sugar give all their points and steeped grain its steep yield, so what is measured above
these came from the mash: its efficiency is that over what the mashed grain could have given. The
attenuation is the one with which :mod:`recipes.brewing.attenuation` ends at the measured final
gravity. Both are of this trial: pool several before a recipe follows them.

Volume is measured in the fermenter. What a full boil leaves in the kettle is taken as planned and
counted with it. Sugar for the fermenter is not in the measured original gravity.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from boxwort.figures import share as percent
from boxwort.working import Term, Working, positive
from recipes.brewing.attenuation import SOURCE as ATTENUATION_SOURCE
from recipes.brewing.attenuation import final_gravity
from recipes.brewing.extract import SOURCE as EXTRACT_SOURCE
from recipes.brewing.extract import Fermentable, points_l, wort_fermentables
from recipes.brewing.figures import Brew, Figures, figures
from recipes.brewing.gravity import points_from_sg
from recipes.brewing.power import mashed_grain
from recipes.brewing.roles import Use

_HALVINGS = 60  # the interval 0-1 down to the last digit of a float
_NOISE = 1e-9
_FAR_OFF = 0.03  # of the volume: more than a good hydrometer and a good eye miss
_CHECK = (
    "check that the wort was mixed before it was measured, that the hydrometer was read at its own "
    "temperature, the volume, and the weights"
)


@dataclass(frozen=True, kw_only=True)
class Effect:
    """The figures of the method as it was, and as calibrated; sizes and weights are the same."""

    before: Figures
    after: Figures


@dataclass(frozen=True, kw_only=True)
class Calibration:
    """What one trial, or several, say of a method.

    Attributes
    ----------
    planned: the method that was brewed.
    mash_efficiency, attenuation: shares, 0-1; None where the trial says nothing of them.
    workings: how each was come by, and the volume against what was planned.
    effect: what they do to the figures.
    notes: what to know before accepting them.
    """

    planned: Brew
    mash_efficiency: float | None
    attenuation: float | None
    workings: tuple[Working, ...]
    effect: Effect
    notes: tuple[str, ...]

    @property
    def brew(self) -> Brew:
        """The method as calibrated: the same weights and volumes."""
        return _calibrated_brew(self.planned, self.mash_efficiency, self.attenuation)


def calibrated(
    brew: Brew, *, measured_og: float, measured_volume_l: float, measured_fg: float | None = None
) -> Calibration:
    """Return what a trial of ``brew`` says of it.

    Parameters
    ----------
    measured_og, measured_fg: specific gravity at 20 C.
    measured_volume_l: litres of wort in the fermenter, at 20 C.

    Raises
    ------
    ValueError: the readings cannot be of this brew; the sentence says what may have gone wrong.
    """
    positive("measured volume", measured_volume_l)
    positive("points of the measured gravity", points_from_sg(measured_og))
    wort_l = measured_volume_l + brew.wort_volume_l - brew.finished_volume_l
    before = figures(brew)
    efficiency = _efficiency(brew, measured_og, wort_l) if _mashes(brew) else None
    known = _calibrated_brew(brew, efficiency.value / 100 if efficiency else None, None)
    attenuation = (
        None if measured_fg is None else _attenuation(known, measured_og, measured_fg, wort_l)
    )
    volume = _volume(known, measured_og, wort_l)
    return _calibration(
        brew,
        before=before,
        efficiency=efficiency.value / 100 if efficiency else None,
        attenuation=attenuation.value / 100 if attenuation else None,
        workings=tuple(found for found in (efficiency, attenuation, volume) if found),
        notes=_notes(brew, volume, measured_fg),
    )


def pooled(calibrations: Sequence[Calibration]) -> Calibration:
    """Return the mean of several trials of one method, each counted once.

    A trial that says nothing of a figure is left out of its mean. The effect is on the method that
    the last trial brewed.

    Raises
    ------
    ValueError: there is no trial.
    """
    if not calibrations:
        msg = "there is no trial to calibrate by; brew one and measure it"
        raise ValueError(msg)
    efficiency = _mean("Mash efficiency", [each.mash_efficiency for each in calibrations])
    attenuation = _mean("Attenuation", [each.attenuation for each in calibrations])
    last = calibrations[-1].planned
    return _calibration(
        last,
        before=figures(last),
        efficiency=efficiency.value / 100 if efficiency else None,
        attenuation=attenuation.value / 100 if attenuation else None,
        workings=tuple(found for found in (efficiency, attenuation) if found),
        notes=tuple(dict.fromkeys(note for each in calibrations for note in each.notes)),
    )


def _calibrated_brew(brew: Brew, efficiency: float | None, attenuation: float | None) -> Brew:
    return replace(
        brew,
        mash_efficiency=brew.mash_efficiency if efficiency is None else efficiency,
        attenuation=brew.attenuation if attenuation is None else attenuation,
    )


def _calibration(
    brew: Brew,
    *,
    before: Figures,
    efficiency: float | None,
    attenuation: float | None,
    workings: tuple[Working, ...],
    notes: tuple[str, ...],
) -> Calibration:
    after = figures(_calibrated_brew(brew, efficiency, attenuation))
    return Calibration(
        planned=brew,
        mash_efficiency=efficiency,
        attenuation=attenuation,
        workings=workings,
        effect=Effect(before=before, after=after),
        notes=notes,
    )


def _mashes(brew: Brew) -> bool:
    return bool(mashed_grain(brew.fermentables))


def _measured_lines(brew: Brew) -> tuple[Fermentable, ...]:
    """Return what is in the wort when it is measured."""
    lines = wort_fermentables(brew.fermentables)
    return tuple(line for line in lines if line.use is not Use.FERMENTER)


def _efficiency(brew: Brew, measured_og: float, wort_l: float) -> Working:
    mashed = mashed_grain(brew.fermentables)
    could_l = math.fsum(points_l(line, 1.0) for line in mashed)
    sure_l = math.fsum(points_l(line, 1.0) for line in _measured_lines(brew) if line not in mashed)
    found_l = points_from_sg(measured_og) * wort_l
    efficiency = (found_l - sure_l) / positive("extract of the mashed grain", could_l)
    _refuse_impossible_mash(efficiency, found_l, sure_l)
    efficiency = min(1.0, efficiency)
    return Working(
        name="Mash efficiency",
        formula=(
            "(points * wort - what the rest gives) / all that the mashed grain could give * 100"
        ),
        terms=(
            Term(name="points", value=points_from_sg(measured_og), unit="points"),
            Term(name="wort", value=wort_l, unit="L"),
            Term(name="what the rest gives", value=sure_l, unit="litre-degrees"),
            Term(name="all that the mashed grain could give", value=could_l, unit="litre-degrees"),
        ),
        value=efficiency * 100,
        unit="%",
        source=EXTRACT_SOURCE,
    )


def _refuse_impossible_mash(efficiency: float, found_l: float, sure_l: float) -> None:
    if efficiency > 1 + _NOISE:
        msg = (
            f"the mash would have given {percent(efficiency, 0)} of what its grain holds; "
            f"{_CHECK}, and whether all the extract and sugar is in the recipe"
        )
        raise ValueError(msg)
    if efficiency <= 0:
        msg = (
            f"the wort holds {found_l:.0f} litre-degrees, and extract, sugar and steeped grain "
            f"alone give {sure_l:.0f}, so the mash would have given nothing; {_CHECK}"
        )
        raise ValueError(msg)


def _attenuation(brew: Brew, measured_og: float, measured_fg: float, wort_l: float) -> Working:
    """Return the strain's attenuation, percent, with which the wort ends where it was measured."""
    if measured_fg > measured_og:
        msg = f"the final gravity {measured_fg:.3f} is above the original {measured_og:.3f}; "
        raise ValueError(msg + "check which reading is which")
    # without a mash the points are certain, so the wort is as large as its gravity says
    real_l = wort_l if _mashes(brew) else _filled_l(brew, measured_og)

    def ends_at(attenuation: float) -> float:
        return final_gravity(
            brew.fermentables,
            wort_volume_l=real_l,
            mash_efficiency=brew.mash_efficiency,
            strain_attenuation=attenuation,
        ).value

    _refuse_impossible_end(measured_fg, lowest=ends_at(1.0), highest=ends_at(0.0))
    attenuation = _root(lambda share: ends_at(share) - measured_fg)
    return Working(
        name="Attenuation",
        formula="the attenuation of the yeast at which the final gravity is the measured one",
        terms=(
            Term(name="measured original gravity", value=measured_og, unit="SG"),
            Term(name="measured final gravity", value=measured_fg, unit="SG"),
            Term(name="wort", value=real_l, unit="L"),
            Term(name="attenuation so far", value=brew.attenuation * 100, unit="%"),
            Term(name="final gravity with it", value=ends_at(brew.attenuation), unit="SG"),
        ),
        value=attenuation * 100,
        unit="%",
        source=ATTENUATION_SOURCE,
        notes=(
            "Of all-malt wort, as the recipe counts it; the beer's own apparent attenuation is "
            f"{percent((measured_og - measured_fg) / (measured_og - 1))}.",
        ),
    )


def _refuse_impossible_end(measured_fg: float, *, lowest: float, highest: float) -> None:
    if measured_fg < lowest - _NOISE:
        msg = (
            f"{measured_fg:.3f} is below {lowest:.3f}, where this wort ends if all ferments that "
            "can; check the reading, the fermentability of the ingredients, and whether the beer "
            "is infected"
        )
        raise ValueError(msg)
    if measured_fg >= highest:
        msg = (
            f"{measured_fg:.3f} is not below {highest:.3f}, where this wort ends with no yeast at "
            "all; check that fermentation began, and the reading"
        )
        raise ValueError(msg)


def _root(falling: Callable[[float], float]) -> float:
    """Return where a falling function crosses zero between 0 and 1, by halving."""
    low, high = 0.0, 1.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if falling(middle) > 0 else (low, middle)
    return (low + high) / 2


def _filled_l(brew: Brew, measured_og: float) -> float:
    """Return the litres that the points of the grist fill at this gravity."""
    given_l = math.fsum(points_l(line, brew.mash_efficiency) for line in _measured_lines(brew))
    return given_l / points_from_sg(measured_og)


def _volume(brew: Brew, measured_og: float, wort_l: float) -> Working:
    """Return the wort there was, litres, beside the plan and beside what its gravity says."""
    return Working(
        name="Volume of wort",
        formula="measured in the fermenter + left in the kettle as planned",
        terms=(
            Term(
                name="measured in the fermenter",
                value=wort_l - brew.wort_volume_l + brew.finished_volume_l,
                unit="L",
            ),
            Term(
                name="left in the kettle as planned",
                value=brew.wort_volume_l - brew.finished_volume_l,
                unit="L",
            ),
            Term(name="planned", value=brew.wort_volume_l, unit="L"),
            Term(name="what its gravity says", value=_filled_l(brew, measured_og), unit="L"),
        ),
        value=wort_l,
        unit="L",
        source="measured",
    )


def _notes(brew: Brew, volume: Working, measured_fg: float | None) -> tuple[str, ...]:
    notes = []
    if not _mashes(brew):
        notes.append(
            "Nothing is mashed, so there is no mash efficiency to calibrate: only volume and "
            "attenuation."
        )
        by_gravity_l = volume.terms[-1].value
        if abs(by_gravity_l / volume.value - 1) > _FAR_OFF:
            notes.append(
                f"Extract gives all its points, which at this gravity fill {by_gravity_l:.1f} L "
                f"and not {volume.value:.1f} L: {_CHECK}."
            )
    if abs(volume.value / brew.wort_volume_l - 1) > _FAR_OFF:
        notes.append(
            f"The trial made {volume.value:.1f} L of wort where {brew.wort_volume_l:.1f} L are "
            "planned; the figures stay those of the planned volume, so look at the boil and the "
            "topping up."
        )
    if any(line.use is Use.FERMENTER for line in brew.fermentables):
        notes.append("Sugar for the fermenter is not in the measured original gravity.")
    if measured_fg is None:
        notes.append("No final gravity was measured: the attenuation stays as it is.")
    return tuple(notes)


def _mean(name: str, shares: Sequence[float | None]) -> Working | None:
    """Return the mean of what several trials say, percent, with its spread."""
    known = [share for share in shares if share is not None]
    if not known:
        return None
    mean = math.fsum(known) / len(known)
    return Working(
        name=name,
        formula="mean of the trials",
        terms=tuple(
            Term(name=f"trial {number}", value=share * 100, unit="%")
            for number, share in enumerate(known, start=1)
        ),
        value=mean * 100,
        unit="%",
        source="arithmetic mean",
        notes=(_spread_words(known, mean),),
    )


def _spread_words(known: Sequence[float], mean: float) -> str:
    if len(known) == 1:
        return "One trial only: how far trials differ is not known yet."
    spread = math.sqrt(math.fsum((share - mean) ** 2 for share in known) / (len(known) - 1))
    return f"{len(known)} trials, one standard deviation {spread * 100:.1f} percentage points."
