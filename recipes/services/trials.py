"""Trial batches: what came out of a brew, the stock it took, and its calibration taken over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from boxwort.accounts.models import User
from boxwort.accounts.services import change_version, service, write_history
from boxwort.errors import Refusal
from inventory.services.conversions import Used
from inventory.services.entries import check_code, check_not_to_come, check_quantity, check_text
from inventory.services.trials import return_from_trial, use_for_trial
from recipes.brewing.roles import HopRole, MethodKind, Use
from recipes.models import Method, Revision, TrialBatch
from recipes.queries.calibrations import Wanted, calibrated_content, calibration_of
from recipes.queries.contents import MethodContent, method_content, methods_in_full
from recipes.services.methods import LineFacts, MethodFacts, write_method
from recipes.services.recipes import start_revision

NOTE_LENGTH = 400
OG_LIMITS = (1.0, 1.2)
LOWEST_FG = 0.98


@service
def record_trial(
    *,
    by: User,
    method: Method,
    code: str,
    brewed_on: date,
    measured_og: float,
    measured_volume: int,
    measured_fg: float | None = None,
    note: str = "",
) -> TrialBatch:
    """Write down what came out when a method was brewed, beside the method as it was.

    Parameters
    ----------
    measured_og, measured_fg: SG; the final gravity may follow weeks later.
    measured_volume: microlitres of wort at 20 C into the fermenter.

    Raises
    ------
    Refusal: ``code-not-valid``, ``trial-code-taken``, ``date-to-come``, ``gravity-impossible``,
        ``quantity-not-positive`` or ``text-too-long``.
    """
    check_code(code, "a trial batch")
    _refuse_impossible(brewed_on, measured_og, measured_fg, measured_volume, note)
    if TrialBatch.objects.filter(code=code).exists():
        raise Refusal(
            "trial-code-taken",
            f"There is already a trial batch {code}.",
            "Give this one a code of its own.",
        )
    said = {
        "code": code,
        "method": method,
        "brewed_on": brewed_on,
        "measured_og": measured_og,
        "measured_volume": measured_volume,
        "measured_fg": measured_fg,
        "note": note,
    }
    content = method_content(methods_in_full().get(pk=method.pk))
    trial = TrialBatch.objects.create(recorded_by=by, content=content, **said)
    write_history(by=by, thing=trial, action="record-trial", after=said)
    return trial


@service
def measure_final_gravity(*, by: User, trial: TrialBatch, fg: float, expected: int) -> TrialBatch:
    """Write down the final gravity of a trial that is fermented out.

    Raises
    ------
    Refusal: ``gravity-impossible``, ``trial-measured`` when it has one already, or
        ``changed-by-someone-else``.
    """
    if trial.measured_fg is not None:
        raise Refusal(
            "trial-measured",
            f"Trial {trial} has a final gravity of {trial.measured_fg:.3f} already.",
            "Correct the trial if it is wrong.",
        )
    _refuse_gravities(trial.measured_og, fg)
    change_version(
        by=by,
        thing=trial,
        expected=expected,
        action="measure-final-gravity",
        changes={"measured_fg": fg},
    )
    return trial


@service
def correct_trial(
    *,
    by: User,
    trial: TrialBatch,
    expected: int,
    brewed_on: date,
    measured_og: float,
    measured_volume: int,
    measured_fg: float | None = None,
    note: str = "",
) -> TrialBatch:
    """Put right what was written down wrongly; how it read before stays in the history.

    Raises
    ------
    Refusal: ``trial-accepted`` once a revision took its calibration over, what
        :func:`record_trial` refuses, or ``changed-by-someone-else``.
    """
    if trial.accepted_revision_id is not None:
        raise Refusal(
            "trial-accepted",
            f"{trial.accepted_revision} took over what trial {trial} showed.",
            "Record another trial; its calibration makes a revision of its own.",
        )
    _refuse_impossible(brewed_on, measured_og, measured_fg, measured_volume, note)
    said = {
        "brewed_on": brewed_on,
        "measured_og": measured_og,
        "measured_volume": measured_volume,
        "measured_fg": measured_fg,
        "note": note,
    }
    changes = {name: value for name, value in said.items() if getattr(trial, name) != value}
    if changes or expected != trial.version:
        change_version(
            by=by, thing=trial, expected=expected, action="correct-trial", changes=changes
        )
    return trial


@service
def take_trial_stock(
    *, by: User, trial: TrialBatch, used: Sequence[Used], expected: int, key: str
) -> TrialBatch:
    """Take what a trial was brewed from out of stock, on the day it was brewed.

    Raises
    ------
    Refusal: ``trial-stock-taken``, what the ledger refuses, or ``changed-by-someone-else``.
    """
    if trial.conversion_id is not None:
        raise Refusal(
            "trial-stock-taken",
            f"The stock of trial {trial} has been taken.",
            "Give it back first if it was written down wrongly.",
        )
    work = use_for_trial(by=by, trial=trial.code, used=used, occurred_on=trial.brewed_on, key=key)
    _change(by, trial, expected, "take-trial-stock", conversion=work)
    return trial


@service
def give_trial_stock_back(
    *, by: User, trial: TrialBatch, expected: int, key: str, reason: str
) -> TrialBatch:
    """Take the use of stock by a trial back, so that it can be written down rightly.

    Raises
    ------
    Refusal: ``trial-without-stock``, no reason, or ``changed-by-someone-else``.
    """
    if trial.conversion is None:
        raise Refusal(
            "trial-without-stock",
            f"Trial {trial} has taken no stock.",
            "Nothing is to be given back.",
        )
    return_from_trial(by=by, conversion=trial.conversion, key=key, reason=reason)
    _change(by, trial, expected, "give-trial-stock-back", conversion=None)
    return trial


@service
def accept_calibration(
    *, by: User, trial: TrialBatch, expected: int, wanted: Wanted, reason: str = ""
) -> Revision:
    """Start a revision from the trial's own, whose method has what the trial showed.

    All or nothing. The new revision is a draft, to be looked at, tried and offered like any.

    Parameters
    ----------
    wanted: what is taken over, of this trial or of all of its method, and whether the amounts are
        kept or scaled so that the original gravity stays.
    reason: why the revision is started; in the words of the calibration unless given.

    Raises
    ------
    Refusal: ``nothing-to-take-over``, ``final-gravity-missing``, ``efficiency-not-shown``,
        ``readings-impossible``, ``rescaling-impossible``, or ``changed-by-someone-else``.
    """
    _refuse_changed(trial, expected)
    shown = calibration_of(trial, all_of_method=wanted.pooled)
    taken = shown.taken(wanted)
    source = methods_in_full().get(pk=trial.method_id)
    content, _ = calibrated_content(method_content(source), taken, rescale=wanted.rescale)
    revision = start_revision(
        by=by,
        recipe=source.revision.recipe,
        reason=reason or taken.reason(shown.codes),
        source=source.revision,
    )
    method = revision.methods.get(kind=source.kind)
    write_method(
        by=by, revision=revision, facts=_facts(method, content), lines=_lines(method, content)
    )
    for each in TrialBatch.objects.select_for_update().filter(code__in=shown.codes):
        _change(by, each, each.version, "accept-calibration", accepted_revision=revision)
    trial.refresh_from_db()
    return revision


def _facts(method: Method, content: MethodContent) -> MethodFacts:
    said: dict[str, Any] = {
        name: getattr(method, name) for name in MethodFacts.__dataclass_fields__
    }
    facts = MethodFacts(**{**said, "kind": MethodKind(method.kind)})
    return replace(
        facts, mash_efficiency=content["mash_efficiency"], attenuation=content["attenuation"]
    )


def _lines(method: Method, content: MethodContent) -> list[LineFacts]:
    """Return the lines of a method with the amounts of its content, which are in its order."""
    return [
        LineFacts(
            item=line.item,
            use=Use(line.use),
            quantity=known["quantity"],
            minutes=line.minutes,
            role=HopRole(line.role) if line.role else None,
            reference_alpha=line.reference_alpha,
            note=line.note,
            least_minutes=line.least_minutes,
            most_minutes=line.most_minutes,
        )
        for line, known in zip(
            method.lines.select_related("item").order_by("position"), content["lines"], strict=True
        )
    ]


def _change(by: User, trial: TrialBatch, expected: int, action: str, **changes: Any) -> None:
    change_version(by=by, thing=trial, expected=expected, action=action, changes=changes)


def _refuse_changed(trial: TrialBatch, expected: int) -> None:
    locked = TrialBatch.objects.select_for_update().get(pk=trial.pk)
    if locked.version != expected:
        raise Refusal(
            "changed-by-someone-else",
            f"Trial {trial} was changed by someone else after you opened it.",
            "Open it again to see the change, then repeat yours if it is still needed.",
        )


def _refuse_impossible(
    brewed_on: date, og: float, fg: float | None, volume: int, note: str
) -> None:
    check_not_to_come(brewed_on, "trial batch")
    check_text(note, NOTE_LENGTH, "The note")
    check_quantity(volume, "write down")
    _refuse_gravities(og, fg)


def _refuse_gravities(og: float, fg: float | None) -> None:
    least, most = OG_LIMITS
    if not least < og < most:
        raise Refusal(
            "gravity-impossible",
            f"An original gravity of {og:.3f} is not that of a wort.",
            f"Give the specific gravity, above {least:.3f} and below {most:.3f}.",
        )
    if fg is not None and not LOWEST_FG < fg <= og:
        raise Refusal(
            "gravity-impossible",
            f"A final gravity of {fg:.3f} cannot follow an original of {og:.3f}.",
            f"Give the specific gravity, above {LOWEST_FG:.3f} and not above the original.",
        )
