"""Using approved substitutes in a run, and the original again."""

from __future__ import annotations

from collections.abc import Mapping

from boxwort.accounts.models import User
from boxwort.accounts.services import change_version, service, write_history
from boxwort.errors import Refusal
from planning.models import Run, RunLine, RunLineSubstitute, RunState
from planning.services.holding import hold_run
from recipes.models import KitBillSubstitute


@service
def choose_substitutes(
    *, by: User, run: Run, expected: int, chosen: Mapping[int, Mapping[str, int | None]]
) -> None:
    """Let lines of a planned run use approved substitutes in place of rows of their kits' bills.

    Parameters
    ----------
    chosen: by run line and key of the bill, the frozen substitute that is used from now on; None
        for the original again. Rows that are not named stay as they are.

    Raises
    ------
    Refusal: the run is not planned, or was changed by someone else; a line of another run; or
        something that was not approved for that row when the kit was offered.
    """
    hold_run(run)
    if run.state != RunState.PLANNED:
        raise Refusal(
            "run-not-planned",
            f"Run {run.code} is {run.get_state_display().lower()}, so its boxes are settled.",
            "Give its stock back, choose the substitute, then reserve it again.",
        )
    lines = {line.pk: line for line in run.lines.select_related("kit__item")}
    if not chosen.keys() <= lines.keys():
        raise Refusal(
            "line-of-another-run",
            f"That is no line of run {run.code}.",
            "Open the run again and choose there.",
        )
    change_version(by=by, thing=run, expected=expected, action="choose substitutes", changes={})
    for line_id, rows in chosen.items():
        for key, substitute_id in rows.items():
            _use(by, lines[line_id], key, _approved(lines[line_id], key, substitute_id))


def _approved(line: RunLine, key: str, substitute_id: int | None) -> KitBillSubstitute | None:
    if substitute_id is None:
        return None
    frozen = KitBillSubstitute.objects.filter(bill_line__kit=line.kit_id, bill_line__key=key)
    substitute = frozen.filter(pk=substitute_id).select_related("item").first()
    if substitute:
        return substitute
    original = line.kit.bill.filter(key=key).select_related("item").first()
    raise Refusal(
        "substitute-not-approved",
        f"That was not approved to stand for {original.item.name if original else key} when "
        f"{line.kit.item.code} was offered.",
        "Choose one of its approved substitutes; a new one comes with a new revision.",
    )


def _use(by: User, line: RunLine, key: str, substitute: KitBillSubstitute | None) -> None:
    before = line.substitutes.filter(key=key).select_related("substitute__item").first()
    if substitute is None:
        line.substitutes.filter(key=key).delete()
    else:
        RunLineSubstitute.objects.update_or_create(
            run_line=line, key=key, defaults={"substitute": substitute}
        )
    write_history(
        by=by,
        thing=line,
        action="choose substitute" if substitute else "use the original again",
        before={key: before.substitute.item.code} if before else {},
        after={key: substitute.item.code} if substitute else {},
    )
