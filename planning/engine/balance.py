"""Balancing: the weight of every hop addition, so that a kit from these lots meets its IBU."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot, sqrt

from boxwort.quantities import MG_PER_G, shown
from boxwort.working import Term, Working
from planning.engine.rounding import Moving, rounded_weights
from recipes.brewing.roles import HopRole

_NOTHING_MG = 1e-6


@dataclass(frozen=True, kw_only=True)
class HopLine:
    """One hop addition of a kit, with the alpha acid of the lot it will be weighed from.

    Attributes
    ----------
    line: the key of the recipe line.
    name: what people call it ("Magnum at 60 min").
    role: what the addition does when its lot's alpha differs from the reference.
    reference_mg, reference_alpha: the frozen weight, and the alpha share it was written for.
    ibu_per_gram: IBU that one gram of pure alpha acid gives in this addition and volume, so that
        IBU = weight (g) x alpha x ``ibu_per_gram``; zero for a dry hop.
    alpha: alpha share of the lot on brew day; before a lot is chosen, the planning alpha.
    alpha_spread: one standard deviation of ``alpha``, as a share of it.
    item: the item it is weighed from; lines of one item are weighed from one lot.
    lot: code of the lot; the alpha of lines of one lot errs together. Empty: its own.
    """

    line: str
    name: str
    role: HopRole
    reference_mg: int
    reference_alpha: float
    ibu_per_gram: float
    alpha: float
    alpha_spread: float = 0.03
    item: str = ""
    lot: str = ""

    def __post_init__(self) -> None:
        for alpha in (self.alpha, self.reference_alpha):
            if not 0 < alpha < 1:
                msg = f"{self.name}: an alpha acid of {alpha:g} is not a share above 0 and below 1"
                raise ValueError(msg)
        if self.reference_mg < 1 or self.ibu_per_gram < 0 or self.alpha_spread < 0:
            msg = f"{self.name}: a weight above zero is needed, and no IBU or spread below zero"
            raise ValueError(msg)
        if self.role is HopRole.ABSORB and not self.ibu_per_gram:
            msg = f"{self.name} gives no bitterness, so it cannot absorb a difference"
            raise ValueError(msg)

    @property
    def moves(self) -> bool:
        """Whether the weight follows the lot."""
        return self.role is not HopRole.HOLD_WEIGHT

    @property
    def ibu_per_mg(self) -> float:
        """Bitterness of one milligram of this lot."""
        return self.ibu_per_gram * self.alpha / MG_PER_G

    @property
    def reference_ibu(self) -> float:
        """Bitterness of the reference weight at the reference alpha."""
        return self.ibu_per_gram * self.reference_alpha * self.reference_mg / MG_PER_G


@dataclass(frozen=True, kw_only=True)
class Limit:
    """A weight that the target asks for and that may not be packed."""

    line: str
    lot: str
    what: str
    remedy: str


@dataclass(frozen=True, kw_only=True)
class BalanceRow:
    """One addition before and after; ``exact_mg`` is what the target asks for, unrounded."""

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


@dataclass(frozen=True, kw_only=True)
class Balance:
    """The weights of one kit from one set of lots.

    Attributes
    ----------
    rows: the additions, in the order given.
    ibu_target: the frozen target.
    ibu_unchanged: what these lots would give at the weights of today's sheet.
    ibu_corrected: what they give at the new weights.
    spread_ibu: one standard deviation of ``ibu_corrected`` from alpha and scale; the error of
        the utilisation formula itself is not in it.
    limits: weights that were held at a limit; with any, the target is not met.
    """

    rows: tuple[BalanceRow, ...]
    ibu_target: float
    ibu_unchanged: float
    ibu_corrected: float
    spread_ibu: float
    limits: tuple[Limit, ...] = ()

    @property
    def weights(self) -> dict[str, int]:
        """Milligrams per kit by line."""
        return {row.line: row.after_mg for row in self.rows}

    @property
    def working(self) -> Working:
        """The corrected bitterness, addition by addition."""
        return Working(
            name="Bitterness after balancing",
            formula="sum over additions of weight x alpha x IBU per gram of alpha acid",
            terms=(
                Term(name="target", value=self.ibu_target, unit="IBU"),
                Term(name="with weights unchanged", value=self.ibu_unchanged, unit="IBU"),
                Term(name="one standard deviation", value=self.spread_ibu, unit="IBU"),
            ),
            value=self.ibu_corrected,
            unit="IBU",
            source="common practice: late additions keep their weight, bittering takes the rest",
            notes=(
                "The spread is that of the alpha acid and of the scale, not of the formula.",
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
    most: float = 2.0,
    division_mg: int = 100,
) -> Balance:
    """Return the weights that bring a kit from these lots to its target bitterness.

    Parameters
    ----------
    target_ibu: the unrounded IBU frozen with the revision.
    lines: every hop addition of the kit, each with its lot's alpha.
    resolution_mg: the step that moving weights are rounded to.
    current_mg: milligrams by line on today's sheet; the reference weights where not given.
    most: the largest multiple of its reference that a moving weight may reach.
    division_mg: the scale's smallest division.

    Raises
    ------
    ValueError: an alpha outside 0-1, a line given twice, or a resolution below 1 mg.
    """
    if resolution_mg < 1 or len({line.line for line in lines}) < len(lines):
        msg = "the resolution must be at least 1 mg and each line given once"
        raise ValueError(msg)
    before = {line.line: line.reference_mg for line in lines} | dict(current_mg or {})
    exact = _exact_weights(target_ibu, lines, most)
    after = _packed_weights(target_ibu, lines, exact, before, resolution_mg, most)
    rows = tuple(
        BalanceRow(
            line=line.line,
            name=line.name,
            role=line.role,
            alpha=line.alpha,
            ibu_per_gram=line.ibu_per_gram,
            before_mg=before[line.line],
            after_mg=after[line.line],
            exact_mg=exact[line.line],
            ibu_before=before[line.line] * line.ibu_per_mg,
            ibu_after=after[line.line] * line.ibu_per_mg,
        )
        for line in lines
    )
    return Balance(
        rows=rows,
        ibu_target=target_ibu,
        ibu_unchanged=sum(row.ibu_before for row in rows),
        ibu_corrected=sum(row.ibu_after for row in rows),
        spread_ibu=_spread(lines, after, division_mg),
        limits=_limits(lines, exact, most),
    )


def _exact_weights(target_ibu: float, lines: Sequence[HopLine], most: float) -> dict[str, float]:
    """Return unrounded milligrams: held weights, held bitterness, then what absorbs the rest."""
    exact: dict[str, float] = {}
    left = target_ibu
    for line in lines:
        if line.role is HopRole.ABSORB:
            continue
        ratio = line.reference_alpha / line.alpha if line.moves else 1.0
        exact[line.line] = line.reference_mg * ratio
        left -= _within(line, exact[line.line], most) * line.ibu_per_mg
    absorbing = [line for line in lines if line.role is HopRole.ABSORB]
    whole = sum(line.reference_ibu for line in absorbing)
    for line in absorbing:
        exact[line.line] = left * line.reference_ibu / whole / line.ibu_per_mg
    return exact


def _within(line: HopLine, weight_mg: float, most: float) -> float:
    return min(max(weight_mg, 0.0), most * line.reference_mg) if line.moves else weight_mg


def _packed_weights(
    target_ibu: float,
    lines: Sequence[HopLine],
    exact: Mapping[str, float],
    before: Mapping[str, int],
    resolution_mg: int,
    most: float,
) -> dict[str, int]:
    after = {line.line: line.reference_mg for line in lines if not line.moves}
    held = sum(after[line.line] * line.ibu_per_mg for line in lines if not line.moves)
    moving = [line for line in lines if line.moves]
    chosen = rounded_weights(
        [
            Moving(
                exact_mg=_within(line, exact[line.line], most),
                most_mg=most * line.reference_mg,
                before_mg=before[line.line],
                ibu_per_mg=line.ibu_per_mg,
            )
            for line in moving
        ],
        wanted_ibu=target_ibu - held,
        resolution_mg=resolution_mg,
    )
    return after | {line.line: mg for line, mg in zip(moving, chosen, strict=True)}


def _spread(lines: Sequence[HopLine], after: Mapping[str, int], division_mg: int) -> float:
    """Return one standard deviation of the IBU: one alpha error a lot, one scale error a line."""
    by_lot: defaultdict[tuple[str, str], float] = defaultdict(float)
    for line in lines:
        source = ("lot", line.lot) if line.lot else ("line", line.line)
        by_lot[source] += after[line.line] * line.ibu_per_mg * line.alpha_spread
    scale_mg = division_mg / sqrt(12)
    return hypot(*by_lot.values(), *(scale_mg * line.ibu_per_mg for line in lines))


def _limits(lines: Sequence[HopLine], exact: Mapping[str, float], most: float) -> tuple[Limit, ...]:
    found = []
    for line in lines:
        wanted = exact[line.line]
        if abs(wanted - _within(line, wanted, most)) > _NOTHING_MG:
            explain = _too_bitter if wanted < 0 else _too_weak
            found.append(explain(line, wanted, most))
    return tuple(found)


def _too_bitter(line: HopLine, _wanted_mg: float, _most: float) -> Limit:
    return Limit(
        line=line.line,
        lot=line.lot,
        what=f"The other additions already pass the target, so nothing is left for {line.name}.",
        remedy="Choose lots with less alpha acid for the additions that keep their weight, "
        "a blend with a weaker lot, or an approved substitute.",
    )


def _too_weak(line: HopLine, wanted_mg: float, most: float) -> Limit:
    return Limit(
        line=line.line,
        lot=line.lot,
        what=f"{line.name} would need {shown(round(wanted_mg), 'g')} at {line.alpha:.1%} alpha "
        f"acid, more than {most:g} times its reference of {shown(line.reference_mg, 'g')}.",
        remedy="Choose a lot with more alpha acid, a blend with a stronger lot, "
        "or an approved substitute.",
    )


def _row_working(row: BalanceRow) -> Working:
    return Working(
        name=row.name,
        formula="weight x alpha x IBU per gram of alpha acid",
        terms=(
            Term(name="weight", value=row.after_mg / MG_PER_G, unit="g"),
            Term(name="weight before", value=row.before_mg / MG_PER_G, unit="g"),
            Term(name="weight before rounding", value=row.exact_mg / MG_PER_G, unit="g"),
            Term(name="alpha", value=row.alpha, unit=""),
            Term(name="IBU per gram of alpha acid", value=row.ibu_per_gram, unit="IBU/g"),
        ),
        value=row.ibu_after,
        unit="IBU",
        source=f"role of the addition: {row.role.value.replace('_', ' ')}",
    )
