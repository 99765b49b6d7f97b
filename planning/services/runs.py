"""Planning a run, and taking it back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db import IntegrityError, transaction
from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.accounts.services import change_version, service, write_history
from boxwort.errors import Refusal
from inventory.models import Item
from inventory.services.entries import REASON_LENGTH, check_code, check_text
from planning.models import Run, RunLine, RunState
from planning.services.codes import numbered_code
from planning.services.holding import hold_run
from recipes.models import MOST_KITS, Kit, RevisionState

CODE_LENGTH = 16
"""A batch's code is its run's with a number, and it goes on a label."""
FARTHEST = timedelta(days=3652)
"""A pack date farther from today can only be a slip of the pen."""
_TRIES = 5


@dataclass(frozen=True, kw_only=True)
class KitsAsked:
    """A number of one kit, and the yeast for it (the kit's first option if none is named)."""

    kit: Kit
    kits: int
    yeast: Item | None = None


@service
def plan_run(
    *, by: User, pack_on: date, lines: Sequence[KitsAsked], code: str = "", note: str = ""
) -> Run:
    """Plan a run: no stock is taken, and it counts as a requirement from now on.

    Without a code the run is named for its day: R and the date, then a number.

    Raises
    ------
    Refusal: no kits, a kit twice, a kit that is not offered, or a yeast it is not offered with;
        or a code that is taken or cannot go on a label.
    """
    _check_day(pack_on)
    _check_lines(lines)
    check_text(note, REASON_LENGTH, "The note")
    run = _new_run(code, pack_on, note)
    _write_lines(run, lines)
    write_history(
        by=by,
        thing=run,
        action="plan run",
        after={
            "pack_on": pack_on,
            "lines": [[line.kit.item.code, line.kits] for line in lines],
        },
    )
    return run


@service
def change_run(
    *, by: User, run: Run, expected: int, pack_on: date, lines: Sequence[KitsAsked], note: str = ""
) -> Run:
    """Change what a planned run packs and when; a reserved run is taken back to plan first."""
    hold_run(run)
    if run.state != RunState.PLANNED:
        raise Refusal(
            "run-not-planned",
            f"Run {run.code} is {run.get_state_display().lower()}.",
            "Give its stock back first; then it can be changed.",
        )
    _check_day(pack_on)
    _check_lines(lines)
    check_text(note, REASON_LENGTH, "The note")
    change_version(
        by=by,
        thing=run,
        expected=expected,
        action="change run",
        changes={"pack_on": pack_on, "note": note},
    )
    _drop_lines(run, {line.kit.pk for line in lines})
    _write_lines(run, lines)
    return run


def _new_run(code: str, pack_on: date, note: str) -> Run:
    """Write the row; of two people who plan the same day at once, one takes the next number."""
    if code:
        _check_run_code(code)
    for tried in range(1, _TRIES + 1):
        try:
            with transaction.atomic():
                named = code or numbered_code(Run, f"R{pack_on:%y%m%d}")
                return Run.objects.create(code=named, pack_on=pack_on, note=note)
        except IntegrityError:
            if code or tried == _TRIES:
                raise _code_taken(named) from None
    raise AssertionError  # pragma: no cover - the loop returns or raises


def _check_day(pack_on: date) -> None:
    if abs(pack_on - timezone.localdate()) > FARTHEST:
        raise Refusal(
            "run-too-far-off",
            f"{pack_on} is more than ten years away.",
            "Check the year of the pack date.",
        )


def _check_run_code(code: str) -> None:
    check_code(code, "a run")
    if len(code) > CODE_LENGTH:
        raise Refusal(
            "run-code-too-long",
            f"The code {code} leaves no room for the number of a batch.",
            f"Give the run a code of at most {CODE_LENGTH} characters.",
        )


def _code_taken(code: str) -> Refusal:
    return Refusal(
        "run-code-taken",
        f"There is already a run {code}.",
        "Give the new run a code of its own, or none: it is then named for its day.",
    )


def _drop_lines(run: Run, kept: set[int]) -> None:
    """Take out the kits that are no longer asked for; a line with a history of batches stays."""
    dropped = run.lines.exclude(kit__in=kept)
    reserved = dropped.filter(batches__isnull=False).select_related("kit__item").first()
    if reserved:
        raise Refusal(
            "kit-had-batches",
            f"Run {run.code} had batches of {reserved.kit.item.code} before it was taken back to "
            "plan, and their record stays with it.",
            "Cancel this run, and plan a new one without that kit.",
        )
    dropped.delete()


def _write_lines(run: Run, lines: Sequence[KitsAsked]) -> None:
    for place, line in enumerate(lines, start=1):
        RunLine.objects.update_or_create(
            run=run,
            kit=line.kit,
            defaults={"position": place, "kits": line.kits, "yeast": line.yeast},
        )


def _check_lines(lines: Sequence[KitsAsked]) -> None:
    if not lines:
        raise Refusal(
            "run-empty", "The run packs no kits.", "Name at least one kit and how many of it."
        )
    seen: set[int] = set()
    for line in lines:
        _check_line(line)
        if line.kit.pk in seen:
            raise Refusal(
                "kit-twice-in-run",
                f"{line.kit.item.code} stands twice in the run.",
                "Put all kits of one kind on one line.",
            )
        seen.add(line.kit.pk)


def _check_line(line: KitsAsked) -> None:
    code = line.kit.item.code
    if line.kits < 1:
        raise Refusal(
            "kits-not-positive",
            f"{line.kits} kits of {code} were asked for.",
            "Ask for at least one, or leave the line out.",
        )
    if line.kits > MOST_KITS:
        raise Refusal(
            "kits-too-many",
            f"{line.kits:,} kits of {code} were asked for.",
            f"Ask for at most {MOST_KITS:,} of one kit.",
        )
    if not line.kit.offered:
        raise Refusal(
            "kit-not-offered",
            f"{code} is not offered, so its weights are not frozen.",
            "Offer its revision and the kit first.",
        )
    revision = line.kit.method.revision
    if revision.state != RevisionState.OFFERED:
        raise Refusal(
            "revision-retired",
            f"{code} is packed after {revision}, which is {revision.get_state_display().lower()}.",
            "Plan a kit of the revision that is offered now.",
        )
    if line.yeast and not line.kit.bill.filter(is_yeast_option=True, item=line.yeast).exists():
        raise Refusal(
            "yeast-not-offered",
            f"{code} is not offered with {line.yeast.name}.",
            "Choose one of the yeasts of its revision.",
        )
