"""What a buying list that came back would change, row by row."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date

from boxwort.quantities import Measure
from boxwort.sheets.forms import Problem
from inventory.models import Contract


@dataclass(frozen=True, kw_only=True)
class Terms:
    """How much at what price for when: packs, ten-thousandths a pack, the day expected."""

    packs: int | None
    pack_price: int | None
    expected_on: date


@dataclass(frozen=True, kw_only=True)
class ListChange:
    """What a row of the list would change.

    Attributes
    ----------
    sheet, row: where it stands; row 0: it follows from other rows.
    order_id, line_id: of the line that stands; None: it is only suggested.
    order_code, version: "" and 0: it becomes a line of the supplier's draft.
    was, now: None where there was, or will be, no such line.
    contract: what is called off.
    offer_price: what the offer asks for a pack of so many; None: nothing.
    """

    sheet: str
    row: int
    order_id: int | None
    order_code: str
    version: int
    is_sent: bool
    line_id: int | None
    supplier_id: int
    supplier_name: str
    offer_id: int | None
    item_id: int
    item_code: str
    item_name: str
    measure: Measure
    pack_quantity: int | None
    was: Terms | None
    now: Terms | None
    need_by: date | None
    order_by: date | None
    runs: str
    contract: Contract | None
    offer_price: int | None

    @property
    def quantity_was(self) -> int | None:
        """Whole units of stock of the packs that were."""
        return self._quantity(self.was)

    @property
    def quantity_now(self) -> int | None:
        """Whole units of stock of the packs that will be."""
        return self._quantity(self.now)

    def _quantity(self, terms: Terms | None) -> int | None:
        if terms is None or terms.packs is None or self.pack_quantity is None:
            return None
        return terms.packs * self.pack_quantity

    @property
    def kind(self) -> str:
        """What becomes of the line, in a word."""
        if self.was is None:
            return "new" if self.now else "left out"
        if self.now is None:
            return "dropped"
        return "same" if self.was == self.now else "changed"

    @property
    def price_differs(self) -> bool:
        """Whether the list has another price than the offer."""
        if not self.row or self.now is None or self.now.packs is None or self.contract is not None:
            return False
        return self.now.pack_price not in (None, self.offer_price)


@dataclass(frozen=True, kw_only=True)
class ListDifference:
    """Everything a list would change, and what is wrong with it."""

    changes: tuple[ListChange, ...]
    problems: tuple[Problem, ...]

    @property
    def changed(self) -> tuple[ListChange, ...]:
        """What would be another afterwards."""
        return tuple(row for row in self.changes if row.kind not in ("same", "left out"))

    @property
    def same(self) -> int:
        """How many rows change nothing."""
        return len(self.changes) - len(self.changed)

    @property
    def prices(self) -> int:
        """How many rows have another price than their offer."""
        return sum(row.price_differs for row in self.changes)

    @property
    def fingerprint(self) -> str:
        """What tells this difference from any other, so that what was seen is what is done."""
        return hashlib.sha256(repr(self.changes).encode()).hexdigest()  # rows are values alone
