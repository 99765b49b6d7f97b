"""One hop addition of a kit, and the lot it is weighed from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import pairwise

from boxwort.quantities import MG_PER_G
from recipes.brewing.roles import HopRole

_NEEDS_BITTERNESS = {
    HopRole.ABSORB: "cannot absorb a difference",
    HopRole.MOVE_TIME: "cannot be put right by its boil time",
}


@dataclass(frozen=True, kw_only=True)
class HopLine:
    """One hop addition of a kit, with the alpha acid of the lot it will be weighed from.

    Attributes
    ----------
    line: the key of the recipe line.
    name: what people call it ("Magnum at 60 min").
    role: what the addition does when its lot's alpha differs from the reference.
    reference_mg, reference_alpha: the frozen weight, and the alpha share it was written for.
    ibu_per_gram: IBU that one gram of pure alpha acid in the reference form gives in this addition
        and volume, so that IBU = weight (g) x alpha x form factor x ``ibu_per_gram``; zero for a
        dry hop.
    alpha: alpha share of the lot on brew day; before a lot is chosen, the planning alpha.
    alpha_spread: one standard deviation of ``alpha``, as a share of it.
    item: the item it is weighed from; lines of one item are weighed from one lot.
    lot: code of the lot; the alpha of lines of one lot errs together. Empty: its own.
    form_factor: what the lot's form (pellet, cone, plug) gives, as a share of the reference form.
    alpha_method: how the lot's alpha was measured, in words; empty: not known.
    minutes: the boil minutes of the recipe.
    minutes_table: of an addition that moves in time, ``ibu_per_gram`` by whole minutes from the
        least to the most it may boil.
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
    form_factor: float = 1.0
    alpha_method: str = ""
    minutes: int | None = None
    minutes_table: Mapping[int, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for alpha in (self.alpha, self.reference_alpha):
            if not 0 < alpha < 1:
                msg = f"{self.name}: an alpha acid of {alpha:g} is not a share above 0 and below 1"
                raise ValueError(msg)
        if self.reference_mg < 1 or self.ibu_per_gram < 0 or self.alpha_spread < 0:
            msg = f"{self.name}: a weight above zero is needed, and no IBU or spread below zero"
            raise ValueError(msg)
        if self.form_factor <= 0:
            msg = f"{self.name}: a form factor is above zero, and was {self.form_factor:g}"
            raise ValueError(msg)
        if self.role in _NEEDS_BITTERNESS and not self.ibu_per_gram:
            msg = f"{self.name} gives no bitterness, so it {_NEEDS_BITTERNESS[self.role]}"
            raise ValueError(msg)
        if self.role is HopRole.MOVE_TIME:
            self._check_minutes()

    def _check_minutes(self) -> None:
        if self.minutes not in self.minutes_table:
            msg = f"{self.name}: its minutes must lie within the limits they may move in"
            raise ValueError(msg)
        for (minute, less), (later, more) in pairwise(self.minutes_table.items()):
            if later != minute + 1 or more < less:
                msg = (
                    f"{self.name}: every whole minute is needed from the least to the most, with "
                    f"no less bitterness than the minute before, and {later} min does not follow "
                    f"{minute} min so"
                )
                raise ValueError(msg)

    @property
    def moves(self) -> bool:
        """Whether the weight follows the lot."""
        return self.role in (HopRole.HOLD_BITTERNESS, HopRole.ABSORB)

    @property
    def moves_in_time(self) -> bool:
        """Whether the boil minutes follow the lot."""
        return self.role is HopRole.MOVE_TIME

    @property
    def effective_alpha(self) -> float:
        """The alpha share that counts: the lot's, by what its form gives."""
        return self.alpha * self.form_factor

    @property
    def ibu_per_mg(self) -> float:
        """Bitterness of one milligram of this lot at the recipe's minutes."""
        return self.ibu_per_gram / MG_PER_G * self.effective_alpha

    def ibu_per_mg_at(self, minutes: int | None) -> float:
        """Return the bitterness of one milligram after these minutes; None: the recipe's."""
        if minutes is None:
            return self.ibu_per_mg
        if minutes not in self.minutes_table:
            msg = f"{self.name} may not boil {minutes} min; its limits are what was frozen"
            raise ValueError(msg)
        return self.minutes_table[minutes] / MG_PER_G * self.effective_alpha

    @property
    def reference_ibu(self) -> float:
        """Bitterness of the reference weight at the reference alpha, form and minutes."""
        return self.ibu_per_gram * self.reference_alpha * self.reference_mg / MG_PER_G
