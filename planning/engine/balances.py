"""Many kits balanced at once against one new lot, with numpy.

The answer is that of :func:`planning.engine.kit_sheet.balanced` kit by kit: the same weights,
minutes, limits and order of ties. Kits with the same moving parts are laid side by side (see
:mod:`planning.engine.kits_alike`). Where two roundings are all but equally near the target, and
where a kit has more moving additions than are enumerated, that single balance itself decides.

>>> from planning.engine.balance import HopLine
>>> from recipes.brewing.roles import HopRole
>>> kit = BoundKit(
...     target_ibu=24.0, bound_items={}, resolution_mg=100,
...     hop_lines=[HopLine(
...         line="60", item="gold", name="Magnum at 60 min", role=HopRole.ABSORB,
...         reference_mg=20_000, reference_alpha=0.050, ibu_per_gram=24.0, alpha=0.050,
...     )],
... )
>>> new = BoundLot(lot=2, code="FG-2", available=400_000, alpha=0.056)
>>> result = rebalanced(Kits.of([kit]), item="gold", lot=new)
>>> result.after_mg.tolist(), result.ibu_corrected.round(2).tolist()
([[17900]], [24.06])
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from planning.engine.balance import Balance
from planning.engine.kit_sheet import BoundKit, BoundLot, balanced
from planning.engine.kits_alike import KitsAlike, Shape
from planning.engine.rounding import ENUMERATED
from planning.engine.times_alike import Floats, Marks, Whole


@dataclass(frozen=True, kw_only=True)
class Rebalanced:
    """Kits from a new lot: arrays of kits x lines, zero or False beyond a kit's last line.

    Attributes
    ----------
    after_mg: milligrams per kit.
    minutes_after: boil minutes of additions that move in time; zero for any other.
    limited: what was held at a limit; a kit with any does not meet its target.
    ibu_unchanged: by kit, what the lots give at today's weights and minutes.
    ibu_corrected: by kit, what they give at the new ones.
    """

    after_mg: Whole
    minutes_after: Whole
    limited: Marks
    ibu_unchanged: Floats
    ibu_corrected: Floats


@dataclass(frozen=True, kw_only=True)
class _Group:
    """Kits alike: their rows, and the cells of their additions in the arrays of all kits."""

    alike: KitsAlike
    rows: Whole
    weighed: Whole
    timed: Whole
    moving: Whole


@dataclass(frozen=True, kw_only=True)
class Kits:
    """Kits as arrays, laid out once and balanced against any number of lots.

    Attributes
    ----------
    kits: the kits, of which the lines have the alpha of their present lots.
    items: a number for each item code.
    width: lines of the longest kit.
    reference_mg: the frozen weights, kits x lines laid end to end, a shorter kit padded with
        zeros, and one cell more for what stands nowhere.
    groups: kits with the same moving parts.
    singly: rows of kits with more moving additions than are enumerated.
    """

    kits: tuple[BoundKit, ...]
    items: Mapping[str, int]
    width: int
    reference_mg: Whole
    groups: tuple[_Group, ...]
    singly: tuple[int, ...]

    @classmethod
    def of(cls, kits: Sequence[BoundKit]) -> Kits:
        """Lay kits out; their lines keep their places."""
        width = max((len(kit.hop_lines) for kit in kits), default=0)
        reference_mg = np.zeros(len(kits) * width + 1, dtype=np.int64)
        items: dict[str, int] = {}
        alike: defaultdict[Shape, list[int]] = defaultdict(list)
        for row, kit in enumerate(kits):
            alike[Shape.of(kit)].append(row)
            for place, line in enumerate(kit.hop_lines):
                reference_mg[row * width + place] = line.reference_mg
                items.setdefault(line.item, len(items))
        return cls(
            kits=tuple(kits),
            items=items,
            width=width,
            reference_mg=reference_mg,
            groups=tuple(
                _group(kits, rows, items, width)
                for shape, rows in alike.items()
                if shape.moving <= ENUMERATED
            ),
            singly=tuple(
                row for shape, rows in alike.items() if shape.moving > ENUMERATED for row in rows
            ),
        )


def rebalanced(kits: Kits, *, item: str, lot: BoundLot) -> Rebalanced:
    """Return every kit with its lines of an item weighed from a new lot.

    Raises
    ------
    ValueError: the lot's alpha is not a share above 0 and below 1, or its form factor not above 0.
    """
    if lot.alpha is None or not 0 < lot.alpha < 1 or lot.form_factor <= 0:
        msg = f"lot {lot.code} needs an alpha acid above 0 and below 1, and a form factor above 0"
        raise ValueError(msg)
    after_mg = kits.reference_mg.copy()
    minutes_after = np.zeros(after_mg.size, dtype=np.int64)
    limited = np.zeros(after_mg.size, dtype=bool)
    ibu_unchanged, ibu_corrected = np.empty(len(kits.kits)), np.empty(len(kits.kits))
    singly = list(kits.singly)
    number = kits.items.get(item, -1)
    for group in kits.groups:
        found = group.alike.balanced(number, lot.effective_alpha)
        after_mg[group.weighed] = found.after_mg
        if found.minutes.size:
            minutes_after[group.timed] = found.minutes
        if found.limited.any():
            limited[group.moving] = found.limited
        ibu_unchanged[group.rows] = found.unchanged
        ibu_corrected[group.rows] = found.corrected
        singly.extend(group.rows[found.undecided].tolist())
    shape = (len(kits.kits), kits.width)
    result = Rebalanced(
        after_mg=after_mg[:-1].reshape(shape),
        minutes_after=minutes_after[:-1].reshape(shape),
        limited=limited[:-1].reshape(shape),
        ibu_unchanged=ibu_unchanged,
        ibu_corrected=ibu_corrected,
    )
    for row in singly:
        _decide(result, row, balanced(kits.kits[row], {item: lot}))
    return result


def _group(
    kits: Sequence[BoundKit], rows: Sequence[int], items: Mapping[str, int], width: int
) -> _Group:
    alike = KitsAlike([kits[row] for row in rows], items)
    shape = Shape.of(kits[rows[0]])
    nowhere = len(kits) * width
    cells = np.full((shape.moving, len(rows)), nowhere)
    for column, row in enumerate(rows):
        for at, place in enumerate(shape.laid_out(kits[row])[: shape.moving]):
            cells[at, column] = nowhere if place is None else row * width + place
    return _Group(
        alike=alike,
        rows=np.array(rows),
        weighed=cells[: shape.weights],
        timed=cells[shape.weights :],
        moving=cells,
    )


def _decide(result: Rebalanced, row: int, one: Balance) -> None:
    """Put the balance of one kit in its row."""
    limited = {limit.line for limit in one.limits}
    for place, line in enumerate(one.rows):
        result.after_mg[row, place] = line.after_mg
        result.minutes_after[row, place] = line.minutes_after or 0
        result.limited[row, place] = line.line in limited
    result.ibu_unchanged[row] = one.ibu_unchanged
    result.ibu_corrected[row] = one.ibu_corrected
