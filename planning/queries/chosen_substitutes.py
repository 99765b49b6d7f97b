"""Which approved substitutes run lines use in place of rows of their kits' bills."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from planning.models import RunLine, RunLineSubstitute
from recipes.queries.bills import (
    BillRow,
    SubstituteRow,
    bill_substitutes,
    with_one_yeast,
    with_substitutes,
)

Chosen = Mapping[str, SubstituteRow]
"""Substitutes by the key of the row that each stands for."""

Approved = Mapping[int, Mapping[str, tuple[SubstituteRow, ...]]]
"""What was approved by kit and key."""


def chosen_substitutes(
    lines: Iterable[RunLine], approved: Approved | None = None
) -> dict[int, Chosen]:
    """Return what each run line uses, by its id; two statements, or one if none uses any.

    ``approved`` is the frozen substitutes of the lines' kits, where they are known already.
    """
    kits = {line.pk: line.kit_id for line in lines if line.pk}
    used = list(RunLineSubstitute.objects.filter(run_line__in=kits))
    if approved is None:
        approved = bill_substitutes({kits[row.run_line_id] for row in used})
    found: dict[int, dict[str, SubstituteRow]] = {line_id: {} for line_id in kits}
    for row in used:
        for substitute in approved[kits[row.run_line_id]][row.key]:
            if substitute.id == row.substitute_id:
                found[row.run_line_id][row.key] = substitute
    return dict(found)


def in_the_box(bill: Iterable[BillRow], yeast_item_id: int | None, chosen: Chosen) -> list[BillRow]:
    """Return a kit's bill as a run line packs it: one yeast, and its substitutes in place."""
    return with_substitutes(with_one_yeast(list(bill), yeast_item_id), chosen)


def stand_in_items(approved: Approved) -> set[int]:
    """Return the items that were approved to stand for something."""
    return {row.item_id for kit in approved.values() for rows in kit.values() for row in rows}
