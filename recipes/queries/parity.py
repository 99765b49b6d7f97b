"""The methods of a revision as twins: whether each pair of them makes the same beer.

They are compared as packed and unrounded. The yeasts belong to the revision, so they are the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from boxwort.errors import Refusal
from recipes.brewing.figures import Figures
from recipes.brewing.parity import Parity, parity
from recipes.models import Method
from recipes.queries.contents import MethodContent, brew_of, method_content
from recipes.queries.figures import computed
from recipes.queries.packed_brews import Scales, hop_steps, in_the_box


@dataclass(frozen=True, kw_only=True)
class TwinRow:
    """Two methods of one revision; ``parity`` is None where one of them has no figures."""

    one_id: int
    one_kind: str
    one_label: str
    other_id: int
    other_kind: str
    other_label: str
    parity: Parity | None

    @property
    def apart(self) -> str:
        """Return what differs by more than its limit, in words; empty where nothing does."""
        rows = self.parity.rows if self.parity else ()
        return ", ".join(
            f"{row.name.lower()} by {row.difference:.3g} {row.unit}".rstrip()
            for row in rows
            if not row.within
        )


def twins(methods: Sequence[Method], scales: Scales) -> list[TwinRow]:
    """Return each pair of methods, read by ``methods_in_full``, compared; none of one method."""
    boxes = [(method, boxed_figures(method_content(method), scales)) for method in methods]
    return [
        TwinRow(
            one_id=one.pk,
            one_kind=one.kind,
            one_label=one.get_kind_display(),
            other_id=other.pk,
            other_kind=other.kind,
            other_label=other.get_kind_display(),
            parity=parity(mine, theirs, same_yeasts=True) if mine and theirs else None,
        )
        for (one, mine), (other, theirs) in combinations(boxes, 2)
    ]


def boxed_figures(content: MethodContent, scales: Scales) -> Figures | None:
    """Return the figures of what comes out of the box; None where there are none."""
    try:
        return computed(in_the_box(brew_of(content), hop_steps(content, scales)))
    except Refusal:
        return None
