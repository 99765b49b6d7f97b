"""What trial batches show of a method, and what taking it over would do to its beer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

from boxwort.errors import Refusal
from boxwort.figures import share
from boxwort.quantities import MG_PER_G, MG_PER_KG, UL_PER_L
from recipes.brewing.calibration import Calibration, calibrated, pooled
from recipes.brewing.figures import Brew, Figures
from recipes.brewing.parity import Parity, ParityRow, parity
from recipes.brewing.scale import Scaled, ScaledLine, scaled
from recipes.models import TrialBatch
from recipes.queries.contents import (
    MethodContent,
    brew_of,
    completed,
    is_fermentable,
    is_hop,
    method_content,
    methods_in_full,
)
from recipes.queries.figures import computed
from recipes.queries.packed_brews import house_scales
from recipes.queries.parity import boxed_figures
from recipes.queries.stand_ins import placed


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What a person takes over of trials.

    ``pooled``: of every trial of the method, else of the one; ``rescale``: amounts are scaled so
    that the original gravity stays, else they are kept.
    """

    efficiency: bool = True
    attenuation: bool = True
    pooled: bool = False
    rescale: bool = False


@dataclass(frozen=True, kw_only=True)
class Shown:
    """What trials of one method show; ``left_out`` are those whose readings cannot be of it."""

    codes: tuple[str, ...]
    calibration: Calibration
    left_out: tuple[str, ...] = ()

    def taken(self, wanted: Wanted) -> Taken:
        """Return what is wanted of it.

        Raises
        ------
        Refusal: ``nothing-to-take-over``, ``efficiency-not-shown`` or ``final-gravity-missing``.
        """
        if not wanted.efficiency and not wanted.attenuation:
            raise Refusal(
                "nothing-to-take-over",
                "Neither the mash efficiency nor the attenuation was chosen.",
                "Choose what the new revision takes over.",
            )
        efficiency, attenuation = self.calibration.mash_efficiency, self.calibration.attenuation
        if wanted.efficiency and efficiency is None:
            raise Refusal(
                "efficiency-not-shown",
                "Nothing is mashed in this method, so a trial shows no mash efficiency.",
                "Take over only the attenuation.",
            )
        if wanted.attenuation and attenuation is None:
            raise Refusal(
                "final-gravity-missing",
                "No final gravity was measured, so the attenuation is not known.",
                "Write the final gravity down, or take over only the mash efficiency.",
            )
        return Taken(
            efficiency=efficiency if wanted.efficiency else None,
            attenuation=attenuation if wanted.attenuation else None,
        )


@dataclass(frozen=True, kw_only=True)
class Taken:
    """What is taken over of trials: shares, None for what is left as it is."""

    efficiency: float | None
    attenuation: float | None

    def reason(self, codes: Sequence[str]) -> str:
        """Return in words why a revision is started with it."""
        named = (("mash efficiency", self.efficiency), ("attenuation", self.attenuation))
        said = [f"{what} {share(value)}" for what, value in named if value is not None]
        by = f"{len(codes)} trials up to {codes[-1]}" if codes[1:] else f"trial {codes[0]}"
        return f"Calibrated by {by}: {', '.join(said)}"


@dataclass(frozen=True, kw_only=True)
class TwinEffect:
    """The method beside another of its revision, as it is and as calibrated."""

    label: str
    before: Parity | None
    after: Parity | None

    @property
    def rows(self) -> list[dict[str, ParityRow]]:
        """Return each figure as it is apart now, beside how it is when calibrated."""
        if self.before is None or self.after is None:
            return []
        pairs = zip(self.before.rows, self.after.rows, strict=True)
        return [{"before": before, "after": after} for before, after in pairs]


@dataclass(frozen=True, kw_only=True)
class Effect:
    """What taking a calibration over does; ``lines`` are the amounts that are scaled."""

    before: Figures
    after: Figures
    lines: tuple[ScaledLine, ...]
    twins: tuple[TwinEffect, ...]


def trial_calibration(trial: TrialBatch) -> Calibration:
    """Return what one trial says of the method as it was brewed.

    Raises
    ------
    Refusal: ``readings-impossible``, or what stands in the way of the method's figures.
    """
    brew = brew_of(completed(trial.content))
    computed(brew)
    try:
        return calibrated(
            brew,
            measured_og=trial.measured_og,
            measured_volume_l=trial.measured_volume / UL_PER_L,
            measured_fg=trial.measured_fg,
        )
    except ValueError as problem:
        raise Refusal(
            "readings-impossible",
            f"Trial {trial} cannot be reckoned with: {problem}.",
            "Correct what was written down, or leave the trial as a record.",
        ) from problem


def calibration_of(trial: TrialBatch, *, all_of_method: bool = False) -> Shown:
    """Return what a trial shows, or all the trials of its method together; at most one statement.

    Raises
    ------
    Refusal: as :func:`trial_calibration`, of this trial.
    """
    own = trial_calibration(trial)
    if not all_of_method:
        return Shown(codes=(trial.code,), calibration=own)
    of_method = TrialBatch.objects.filter(method=trial.method_id).order_by("brewed_on", "pk")
    codes, calibrations, left_out = [], [], []
    for each in of_method:
        try:
            calibrations.append(trial_calibration(each))
            codes.append(each.code)
        except Refusal as refusal:
            left_out.append(refusal.what)
    return Shown(codes=tuple(codes), calibration=pooled(calibrations), left_out=tuple(left_out))


def calibrated_content(
    content: MethodContent, taken: Taken, *, rescale: bool
) -> tuple[MethodContent, tuple[ScaledLine, ...]]:
    """Return a method with what is taken over, and the lines that were scaled for it.

    Raises
    ------
    Refusal: ``rescaling-impossible``, or what stands in the way of the method's figures.
    """
    old = brew_of(content)
    lines: tuple[ScaledLine, ...] = ()
    new = dict(content)
    if rescale and taken.efficiency is not None:
        found = _rescaled(old, taken.efficiency)
        lines = tuple(line for line in found.lines if abs(line.after - line.before) > _NOISE)
        new["lines"] = _at(content, found.brew)
    if taken.efficiency is not None:
        new["mash_efficiency"] = taken.efficiency
    if taken.attenuation is not None:
        new["attenuation"] = taken.attenuation
    return cast("MethodContent", new), lines


_NOISE = 1e-9


def effect_of(trial: TrialBatch, taken: Taken, *, rescale: bool) -> Effect:
    """Return what taking a calibration over does to the method as it stands, and to its twins.

    Raises
    ------
    Refusal: as :func:`calibrated_content`.
    """
    methods = list(methods_in_full().filter(revision__methods=trial.method_id))
    own = next(method for method in methods if method.pk == trial.method_id)
    before = method_content(own)
    after, lines = calibrated_content(before, taken, rescale=rescale)
    scales = house_scales()
    was, becomes = boxed_figures(before, scales), boxed_figures(after, scales)
    twins = []
    for twin in methods:
        if twin.pk != own.pk:
            other = boxed_figures(method_content(twin), scales)
            twins.append(
                TwinEffect(
                    label=twin.get_kind_display(),
                    before=_compared(was, other),
                    after=_compared(becomes, other),
                )
            )
    return Effect(
        before=computed(brew_of(before)),
        after=computed(brew_of(after)),
        lines=lines,
        twins=tuple(twins),
    )


def _compared(one: Figures | None, other: Figures | None) -> Parity | None:
    return parity(one, other, same_yeasts=True) if one and other else None


def _rescaled(brew: Brew, efficiency: float) -> Scaled:
    try:
        return scaled(brew, finished_volume_l=brew.finished_volume_l, mash_efficiency=efficiency)
    except ValueError as problem:
        raise Refusal(
            "rescaling-impossible",
            f"The amounts cannot be scaled so that the gravity stays: {problem}.",
            "Keep the amounts, and change the draft by hand.",
        ) from problem


def _at(content: MethodContent, brew: Brew) -> list[dict[str, object]]:
    """Return the lines with the amounts of a brew, in whole units of stock."""
    lines: list[dict[str, object]] = []
    for line, place in placed(content):
        quantity = line["quantity"]
        if is_fermentable(line):
            quantity = round(brew.fermentables[place].kg * MG_PER_KG)
        elif is_hop(line):
            quantity = round(brew.hops[place].grams * MG_PER_G)
        lines.append({**line, "quantity": quantity})
    return lines
