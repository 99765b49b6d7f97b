"""Balancing: the weight of every hop addition, so that a kit from these lots meets its IBU."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import hypot, sqrt

from boxwort.quantities import MG_PER_G
from boxwort.working import Term, Working
from planning.engine.hop_line import HopLine
from planning.engine.limits import Limit, nothing_left, too_heavy, too_long, too_short
from planning.engine.moved_time import MovedTime, moved_time
from planning.engine.notes import boiled_at_a_limit, mixed_methods
from planning.engine.rounding import ENUMERATED, Moving, Rounding, rounded_weights, that_matter
from recipes.brewing.roles import HopRole

__all__ = ["Balance", "BalanceRow", "HopLine", "Limit", "balance"]

NOTHING_MG = 1e-6
"""A weight this far past a limit is float noise."""


@dataclass(frozen=True, kw_only=True)
class BalanceRow:
    """One addition before and after; ``exact_mg`` is what the target asks for, unrounded.

    ``minutes_before``, ``minutes_after`` and ``exact_minutes`` are those of an addition that moves
    in time, and None for any other. ``ibu_per_gram`` is at the minutes after.
    """

    line: str
    name: str
    role: HopRole
    alpha: float
    ibu_per_gram: float
    before_mg: int
    after_mg: int
    exact_mg: float
    ibu_before: float
    ibu_after: float
    form_factor: float = 1.0
    minutes_before: int | None = None
    minutes_after: int | None = None
    exact_minutes: float | None = None


@dataclass(frozen=True, kw_only=True)
class Balance:
    """The weights of one kit from one set of lots.

    Attributes
    ----------
    rows: the additions, in the order given.
    ibu_target: the frozen target.
    ibu_unchanged: what these lots would give at the weights and minutes of today's sheet.
    ibu_corrected: what they give at the new ones.
    spread_ibu: one standard deviation of ``ibu_corrected`` from alpha and scale; the error of
        the utilisation formula itself is not in it.
    limits: what was held at a limit; with any, the target is not met.
    notes: what a reader must know besides.
    """

    rows: tuple[BalanceRow, ...]
    ibu_target: float
    ibu_unchanged: float
    ibu_corrected: float
    spread_ibu: float
    limits: tuple[Limit, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def weights(self) -> dict[str, int]:
        """Milligrams per kit by line."""
        return {row.line: row.after_mg for row in self.rows}

    @property
    def minutes(self) -> dict[str, int]:
        """Whole boil minutes by line, of the additions that move in time."""
        return {row.line: row.minutes_after for row in self.rows if row.minutes_after is not None}

    @property
    def working(self) -> Working:
        """The corrected bitterness, addition by addition."""
        return Working(
            name="Bitterness after balancing",
            formula="sum of the additions",
            terms=(
                Term(name="target", value=self.ibu_target, unit="IBU"),
                Term(
                    name="with weights and minutes unchanged", value=self.ibu_unchanged, unit="IBU"
                ),
                Term(name="one standard deviation", value=self.spread_ibu, unit="IBU"),
            ),
            value=self.ibu_corrected,
            unit="IBU",
            source="common practice: late additions keep their weight, bittering takes the rest",
            notes=(
                "The spread is that of the alpha acid and of the scale, not of the formula.",
                *self.notes,
                *(f"{limit.what} {limit.remedy}" for limit in self.limits),
            ),
            parts=tuple(_row_working(row) for row in self.rows),
        )


def balance(
    *,
    target_ibu: float,
    lines: Sequence[HopLine],
    resolution_mg: int,
    current_mg: Mapping[str, int] | None = None,
    current_minutes: Mapping[str, int] | None = None,
    most: float = 2.0,
    division_mg: int = 100,
) -> Balance:
    """Return the weights and boil minutes that bring a kit from these lots to its bitterness.

    Parameters
    ----------
    target_ibu: the unrounded IBU frozen with the revision.
    lines: every hop addition of the kit, each with its lot's alpha.
    resolution_mg: the step that moving weights are rounded to.
    current_mg: milligrams by line on today's sheet; the reference weights where not given.
    current_minutes: minutes on today's sheet of lines that move in time; else the recipe's.
    most: the largest multiple of its reference that a moving weight may reach.
    division_mg: the scale's smallest division.

    Raises
    ------
    ValueError: an alpha outside 0-1, a line given twice, a resolution below 1 mg, or minutes on
        today's sheet that the line may not boil.
    """
    if resolution_mg < 1 or len({line.line for line in lines}) < len(lines):
        msg = "the resolution must be at least 1 mg and each line given once"
        raise ValueError(msg)
    before = {line.line: line.reference_mg for line in lines} | dict(current_mg or {})
    today = {
        line.line: (current_minutes or {}).get(line.line, line.minutes)
        for line in lines
        if line.moves_in_time
    }
    moved = _moved_times(target_ibu, lines, most)
    way = min(
        (
            _way(target_ibu, lines, minutes, before, resolution_mg, most)
            for minutes in _whole_minutes(lines, moved)
        ),
        key=lambda way: way.order(today),
    )
    rows = tuple(
        BalanceRow(
            line=line.line,
            name=line.name,
            role=line.role,
            alpha=line.alpha,
            ibu_per_gram=line.minutes_table[minutes] if minutes is not None else line.ibu_per_gram,
            before_mg=before[line.line],
            after_mg=way.weights[line.line],
            exact_mg=way.exact[line.line],
            ibu_before=before[line.line] * line.ibu_per_mg_at(today.get(line.line)),
            ibu_after=way.weights[line.line] * way.ibu_per_mg[line.line],
            form_factor=line.form_factor,
            minutes_before=today.get(line.line),
            minutes_after=minutes,
            exact_minutes=moved[line.line].exact if line.line in moved else None,
        )
        for line, minutes in ((line, way.minutes.get(line.line)) for line in lines)
    )
    return Balance(
        rows=rows,
        ibu_target=target_ibu,
        ibu_unchanged=sum(row.ibu_before for row in rows),
        ibu_corrected=sum(row.ibu_after for row in rows),
        spread_ibu=_spread(lines, way, division_mg),
        limits=_limits(lines, way.exact, moved, most),
        notes=(*boiled_at_a_limit(lines, moved), *mixed_methods(lines)),
    )


@dataclass(frozen=True, kw_only=True)
class _Way:
    """Whole minutes for what moves in time, and the best weights beside them, by line."""

    minutes: Mapping[str, int]
    ibu_per_mg: Mapping[str, float]
    exact: Mapping[str, float]
    weights: Mapping[str, int]
    rounding: Rounding

    def order(self, today: Mapping[str, int | None]) -> tuple[object, ...]:
        """Return the miss, changes, weight and amounts: of two ways the lesser is the better."""
        miss, change_mg, total_mg, weights = self.rounding
        change = sum(abs(minutes - (today[line] or 0)) for line, minutes in self.minutes.items())
        return miss, change_mg, change, total_mg, weights, tuple(self.minutes.values())


def _moved_times(target_ibu: float, lines: Sequence[HopLine], most: float) -> dict[str, MovedTime]:
    """Return what each addition that moves in time is asked for.

    Beside one that absorbs each keeps its own bitterness; else they share what is left.
    """
    moving = [line for line in lines if line.moves_in_time]
    part = 1.0
    if moving and not _absorbing(lines):
        fixed = [line for line in lines if not line.moves_in_time]
        left = target_ibu - sum(
            _within(line, _own_weight(line), most) * line.ibu_per_mg for line in fixed
        )
        part = left / sum(line.reference_ibu for line in moving)
    return {
        line.line: moved_time(
            line.minutes_table,
            part * line.ibu_per_gram * line.reference_alpha / line.effective_alpha,
        )
        for line in moving
    }


def _whole_minutes(
    lines: Sequence[HopLine], moved: Mapping[str, MovedTime]
) -> Iterable[dict[str, int]]:
    """Yield every way to put the minutes on whole ones; beyond a dozen, the finest are nearest."""
    by_key = {line.line: line for line in lines}
    steps = [
        by_key[key].reference_mg
        * (
            by_key[key].ibu_per_mg_at(asked.choices[-1])
            - by_key[key].ibu_per_mg_at(asked.choices[0])
        )
        for key, asked in moved.items()
    ]
    tried = that_matter(steps, ENUMERATED)
    choices = [
        asked.choices if at in tried else (asked.nearest,)
        for at, asked in enumerate(moved.values())
    ]
    for chosen in product(*choices):
        yield dict(zip(moved, chosen, strict=True))


def _way(
    target_ibu: float,
    lines: Sequence[HopLine],
    minutes: Mapping[str, int],
    before: Mapping[str, int],
    resolution_mg: int,
    most: float,
) -> _Way:
    """Return the best weights beside these minutes; what absorbs takes what they leave."""
    ibu_per_mg = {line.line: line.ibu_per_mg_at(minutes.get(line.line)) for line in lines}
    exact = _exact_weights(target_ibu, lines, ibu_per_mg, most)
    weights = {line.line: line.reference_mg for line in lines if not line.moves}
    moving = [line for line in lines if line.moves]
    rounding = rounded_weights(
        [
            Moving(
                exact_mg=_within(line, exact[line.line], most),
                most_mg=most * line.reference_mg,
                before_mg=before[line.line],
                ibu_per_mg=ibu_per_mg[line.line],
            )
            for line in moving
        ],
        wanted_ibu=target_ibu - sum(mg * ibu_per_mg[line] for line, mg in weights.items()),
        resolution_mg=resolution_mg,
        enumerated=max(ENUMERATED - len(minutes), 0),
    )
    weights.update((line.line, mg) for line, mg in zip(moving, rounding.weights, strict=True))
    return _Way(
        minutes=minutes, ibu_per_mg=ibu_per_mg, exact=exact, weights=weights, rounding=rounding
    )


def _exact_weights(
    target_ibu: float, lines: Sequence[HopLine], ibu_per_mg: Mapping[str, float], most: float
) -> dict[str, float]:
    """Return unrounded milligrams: held weights, held bitterness, then what absorbs the rest."""
    exact = {line.line: _own_weight(line) for line in lines}
    left = target_ibu - sum(
        _within(line, exact[line.line], most) * ibu_per_mg[line.line]
        for line in lines
        if line.role is not HopRole.ABSORB
    )
    absorbing = _absorbing(lines)
    whole = sum(line.reference_ibu for line in absorbing)
    for line in absorbing:
        exact[line.line] = left * (line.reference_ibu / whole) / ibu_per_mg[line.line]
    return exact


def _own_weight(line: HopLine) -> float:
    """Return the milligrams that keep an addition's own weight, or its own bitterness."""
    if line.moves:
        return line.reference_mg * line.reference_alpha / line.effective_alpha
    return line.reference_mg


def _absorbing(lines: Sequence[HopLine]) -> list[HopLine]:
    return [line for line in lines if line.role is HopRole.ABSORB]


def _within(line: HopLine, weight_mg: float, most: float) -> float:
    return min(max(weight_mg, 0.0), most * line.reference_mg) if line.moves else weight_mg


def _spread(lines: Sequence[HopLine], way: _Way, division_mg: int) -> float:
    """Return one standard deviation of the IBU: one alpha error a lot, one scale error a line."""
    by_lot: defaultdict[tuple[str, str], float] = defaultdict(float)
    for line in lines:
        source = ("lot", line.lot) if line.lot else ("line", line.line)
        by_lot[source] += way.weights[line.line] * way.ibu_per_mg[line.line] * line.alpha_spread
    scale_mg = division_mg / sqrt(12)
    return hypot(*by_lot.values(), *(scale_mg * each for each in way.ibu_per_mg.values()))


def _limits(
    lines: Sequence[HopLine],
    exact: Mapping[str, float],
    moved: Mapping[str, MovedTime],
    most: float,
) -> tuple[Limit, ...]:
    """Return what was held at a limit; minutes only where nothing absorbs the difference."""
    found = []
    absorbed = bool(_absorbing(lines))
    for line in lines:
        wanted = exact[line.line]
        asked = moved.get(line.line)
        if asked and not absorbed and asked.too_short:
            found.append(too_short(line))
        elif asked and not absorbed and asked.too_long:
            found.append(too_long(line))
        elif abs(wanted - _within(line, wanted, most)) > NOTHING_MG:
            found.append(nothing_left(line) if wanted < 0 else too_heavy(line, wanted, most))
    return tuple(found)


def _row_working(row: BalanceRow) -> Working:
    return Working(
        name=row.name,
        formula="weight * alpha * form factor * IBU per gram of alpha acid",
        terms=(
            Term(name="weight", value=row.after_mg / MG_PER_G, unit="g"),
            Term(name="weight before", value=row.before_mg / MG_PER_G, unit="g"),
            Term(name="weight before rounding", value=row.exact_mg / MG_PER_G, unit="g"),
            *_boil_terms(row),
            Term(name="alpha", value=row.alpha, unit=""),
            Term(name="form factor", value=row.form_factor, unit=""),
            Term(name="IBU per gram of alpha acid", value=row.ibu_per_gram, unit="IBU/g"),
        ),
        value=row.ibu_after,
        unit="IBU",
        source=f"role of the addition: {row.role.value.replace('_', ' ')}",
    )


def _boil_terms(row: BalanceRow) -> Iterable[Term]:
    named = {
        "boil time": row.minutes_after,
        "boil time before": row.minutes_before,
        "boil time before rounding": row.exact_minutes,
    }
    for name, minutes in named.items():
        if minutes is not None:
            yield Term(name=name, value=minutes, unit="min")
