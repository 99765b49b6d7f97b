"""When a kit is packed and sold, and how many of it a run makes; these are never frozen."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from boxwort.errors import Refusal
from recipes.models import MOST_KITS


@dataclass(frozen=True, kw_only=True)
class PackRules:
    """What planning must keep to for a kit; None: no such day, 1: any number of kits.

    It is packed from ``first_pack_on`` to ``last_pack_on`` and sold until ``last_sale_on``, all
    three included. A run makes at least ``minimum_kits`` and a multiple of ``multiple_kits``.
    """

    first_pack_on: date | None = None
    last_pack_on: date | None = None
    last_sale_on: date | None = None
    minimum_kits: int = 1
    multiple_kits: int = 1

    def as_said(self) -> dict[str, Any]:
        """Return the fields of a kit that they are."""
        return asdict(self)

    def problems(self) -> Iterator[tuple[str, str, str]]:
        """Yield what no kit could keep to: the field, what is wrong, and what to do."""
        if _before(self.last_pack_on, self.first_pack_on):
            what = "The last day it is packed is before the first."
            yield "last_pack_on", what, "Give the same day or a later one, or leave it empty."
        if _before(self.last_sale_on, self.last_pack_on or self.first_pack_on):
            what = "It would be packed when it is no longer sold."
            remedy = "Sell it until the last day it is packed, or longer."
            yield "last_sale_on", what, remedy
        for name, what in (("minimum_kits", "The least kits"), ("multiple_kits", "The multiple")):
            if not 1 <= getattr(self, name) <= MOST_KITS:
                yield name, f"{what} of a run cannot be that.", f"Give 1 to {MOST_KITS:,} kits."

    def refuse_impossible(self) -> None:
        """Refuse what no kit could keep to.

        Raises
        ------
        Refusal: ``pack-rules-impossible``.
        """
        for _, what, remedy in self.problems():
            raise Refusal("pack-rules-impossible", what, remedy)


def _before(day: date | None, other: date | None) -> bool:
    return day is not None and other is not None and day < other
