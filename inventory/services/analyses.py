"""Recording what a laboratory or a certificate says of a lot."""

from __future__ import annotations

import math
from datetime import date

from boxwort.accounts.models import User
from boxwort.accounts.services import service, write_history
from boxwort.errors import Refusal
from boxwort.figures import share
from inventory import events
from inventory.models import Analysis, AnalysisKind, ItemKind, Lot
from inventory.models.analyses import BASIS_CHOICES, DRY_KINDS, METHOD_CHOICES, SHARE_KINDS
from inventory.models.items import FERMENTABLE_KINDS
from inventory.queries.lineage import heirs
from inventory.services.balances import lock_lots
from inventory.services.certificates import check_given
from inventory.services.entries import check_choice, check_not_to_come, check_within, lot_facts

_HOPS, _YEASTS = (ItemKind.HOP,), (ItemKind.YEAST,)
MEASURED_ON: dict[AnalysisKind, tuple[ItemKind, ...]] = {
    AnalysisKind.ALPHA: _HOPS,
    AnalysisKind.STORAGE_INDEX: _HOPS,
    AnalysisKind.EXTRACT: FERMENTABLE_KINDS,
    AnalysisKind.COLOUR: FERMENTABLE_KINDS,
    AnalysisKind.MOISTURE: (*FERMENTABLE_KINDS, *_HOPS),
    AnalysisKind.POWER: FERMENTABLE_KINDS,
    AnalysisKind.CELLS: _YEASTS,
    AnalysisKind.VIABILITY: _YEASTS,
}
GREATEST_SPREAD = 0.5
HIGHEST_ALPHA = 0.35
POSSIBLE: dict[AnalysisKind, tuple[float, float]] = {
    AnalysisKind.STORAGE_INDEX: (0.1, 2.0),
    AnalysisKind.EXTRACT: (0, 400),
    AnalysisKind.COLOUR: (0, 1000),
    AnalysisKind.POWER: (0, 400),
}
"""Limits, in the unit of the books, beyond which a unit or a comma was most likely misread."""


@service
def record_analysis(
    *,
    by: User,
    lot: Lot,
    kind: AnalysisKind,
    sampled_on: date,
    value: float,
    method: str = "certificate",
    basis: str = "as_is",
    spread: float | None = None,
    at_harvest: bool = False,
    given_value: float | None = None,
    given_unit: str = "",
    supersedes: Analysis | None = None,
) -> Analysis:
    """Record one measured value of a lot, in the unit of ``ANALYSIS_UNITS``.

    Parameters
    ----------
    value: shares are 0-1 (alpha of 5 % is 0.05); on dry matter where ``basis`` is dry.
    spread: one standard deviation relative to the value, where the laboratory gives it.
    at_harvest: an alpha acid known from the harvest, not measured on a sample of this lot; the day
        of the sample is then that of the harvest.
    given_value, given_unit: as the paper has them, where ``value`` was worked out from them
        (:func:`inventory.services.certificates.said`).
    supersedes: an earlier analysis of this lot that was wrong.
    """
    true_of = _held_heirs(lot, sampled_on)
    check_choice(kind, AnalysisKind, "kind of analysis")
    check_choice(method, [word for word, _ in METHOD_CHOICES], "method")
    check_choice(basis, [word for word, _ in BASIS_CHOICES], "basis")
    check_not_to_come(sampled_on, "sample")
    _check_measured_on(lot, kind)
    _check_value(kind, value)
    check_given(kind, value, given_value, given_unit)
    _check_spread(spread)
    _check_harvest(kind, at_harvest=at_harvest)
    _check_basis(lot, kind, basis)
    _check_supersedes(lot, kind, supersedes)
    analysis = Analysis.objects.create(
        lot=lot,
        kind=kind,
        sampled_on=sampled_on,
        value=value,
        method=method,
        basis=basis,
        spread=spread,
        at_harvest=at_harvest,
        given_value=given_value,
        given_unit=given_unit,
        supersedes=supersedes,
        by=by,
    )
    write_history(
        by=by,
        thing=lot,
        action="analysed",
        after={"analysis": analysis, "kind": kind, "sampled_on": sampled_on, "value": value},
    )
    for lot_id in true_of:
        events.lot_analysed.send(sender=Analysis, lot_id=lot_id, kind=kind, by=by)
    return analysis


def _held_heirs(lot: Lot, sampled_on: date) -> list[int]:
    """Return the lots of which the sample is true, held.

    So weights worked out from one of them are written before this, and asked for again, or after.
    """
    held: set[int] = set()
    true_of = [lot.pk]
    while new := set(true_of) - held:
        lock_lots(new)
        held |= new
        true_of = heirs(lot.pk, sampled_on)
    return true_of


def _check_measured_on(lot: Lot, kind: AnalysisKind) -> None:
    if lot.item.kind not in MEASURED_ON[kind]:
        kinds = " or ".join(word.label.lower() for word in MEASURED_ON[kind])
        raise Refusal(
            "analysis-of-wrong-kind",
            f"{kind.label} is measured on {kinds}, and lot {lot.code} is "
            f"{ItemKind(lot.item.kind).label.lower()}.",
            "Choose the lot and the analysis again.",
            details=lot_facts(lot),
        )


def _check_value(kind: AnalysisKind, value: float) -> None:
    if not math.isfinite(value) or value < 0:
        raise Refusal(
            "value-not-possible",
            f"{kind.label} cannot be {value:g}.",
            "Read the certificate again; give zero or more.",
        )
    if kind in SHARE_KINDS and value > 1:
        raise Refusal(
            "value-not-a-share",
            f"{kind.label} was given as {value:g}, which is more than the whole.",
            "Give a share from 0 to 1: 5 % is 0.05.",
        )
    if kind == AnalysisKind.ALPHA and not 0 < value < HIGHEST_ALPHA:
        raise Refusal(
            "alpha-not-possible",
            f"An alpha acid of {share(value)} was given, and no hop has that.",
            f"Read the certificate again; it lies above 0 % and below {share(HIGHEST_ALPHA, 0)}.",
        )
    if kind in POSSIBLE:
        check_within(value, POSSIBLE[kind], f"{kind.label.lower()} of the lot")
    if kind == AnalysisKind.MOISTURE and value == 1:
        raise Refusal(
            "moisture-not-possible",
            "A moisture of 100 % was given, which leaves nothing of the lot.",
            "Read the certificate again; give a share below 1.",
        )


def _check_spread(spread: float | None) -> None:
    if spread is not None and not 0 <= spread <= GREATEST_SPREAD:
        raise Refusal(
            "spread-not-possible",
            f"A relative standard deviation of {spread:g} was given.",
            f"Give a share from 0 to {GREATEST_SPREAD:g}: 3 % is 0.03.",
        )


def _check_harvest(kind: AnalysisKind, *, at_harvest: bool) -> None:
    if at_harvest and kind != AnalysisKind.ALPHA:
        raise Refusal(
            "harvest-value-of-alpha-only",
            f"{kind.label} was marked as known from the harvest.",
            "Mark only an alpha acid so; record what was measured with the day of its sample.",
        )


def _check_basis(lot: Lot, kind: AnalysisKind, basis: str) -> None:
    if basis != "dry":
        return
    if kind not in DRY_KINDS:
        raise Refusal(
            "basis-does-not-fit",
            f"{kind.label} is not given on dry matter.",
            "Give it as is.",
            details=lot_facts(lot),
        )
    if not lot.analyses.filter(kind=AnalysisKind.MOISTURE).exists():
        raise Refusal(
            "moisture-not-known",
            f"{kind.label} on dry basis was given for lot {lot.code}, whose moisture is not known.",
            f"Record its moisture first, or give {kind.label.lower()} as is.",
            details=lot_facts(lot),
        )


def _check_supersedes(lot: Lot, kind: AnalysisKind, supersedes: Analysis | None) -> None:
    if supersedes is None:
        return
    if (supersedes.lot_id, supersedes.kind) != (lot.pk, kind):
        raise Refusal(
            "supersedes-another-thing",
            "The analysis to be superseded is of another lot or another kind.",
            "Choose one of the same kind on the same lot.",
        )
    if Analysis.objects.filter(supersedes=supersedes).exists():
        raise Refusal(
            "analysis-already-superseded",
            "That analysis was superseded before.",
            "Supersede the newest one instead.",
        )
