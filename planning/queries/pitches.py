"""What a lot's packs give a kit on pitch day, against the target and the floor that hold for it.

Target and floor are the kit's own, where it names them, else the strain's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from boxwort.accounts.queries import site_settings
from boxwort.figures import cells, share
from boxwort.working import Working
from inventory.models import YeastForm
from inventory.queries.yeasts import LotViability, journey, yeast_lives
from planning.engine.pitching import (
    enough,
    packs_for,
    pitch,
    pitched_share,
    starter,
    starter_litres,
)
from planning.models import Allocation, Batch
from planning.queries.batches import frozen_row
from recipes.models import KitBillLine


@dataclass(frozen=True, kw_only=True)
class Pitch:
    """What one lot's packs give a kit on its pitch day, as shares of the pitch it asks for."""

    alive: LotViability
    packs: int
    asked: float
    target: float
    floor: float

    @property
    def pitched(self) -> float:
        """The share that the packs give."""
        return pitched_share(
            packs=self.packs, living=self.alive.share, fill=self.alive.fill, asked=self.asked
        )

    @property
    def full(self) -> bool:
        """Whether the packs reach the target."""
        return enough(self.pitched, self.target)

    @property
    def serves(self) -> bool:
        """Whether they reach the floor."""
        return enough(self.pitched, self.floor)

    @property
    def packs_to_target(self) -> int | None:
        """Packs for each kit that reach the target; None: the yeast is dead by then."""
        return packs_for(
            share=self.target, living=self.alive.share, fill=self.alive.fill, asked=self.asked
        )

    @property
    def cells_missing(self) -> float:
        """Living cells short of the target; of dry yeast none are grown."""
        if self.full or self.alive.form != YeastForm.LIQUID:
            return 0.0
        as_specified = self.alive.cells_per_pack / self.alive.fill
        return (self.target - self.pitched) * self.asked * as_specified

    @property
    def working(self) -> Working:
        """The share that the packs give, in percent, with its working."""
        return pitch(
            packs=self.packs, alive=self.alive.working, fill=self.alive.fill, asked=self.asked
        )

    def starter(self, cells_per_l: float) -> Working | None:
        """Return the starter that grows what is missing; None where there is none to advise."""
        missing = self.cells_missing
        if not missing or not self.serves or not starter_litres(missing, cells_per_l):
            return None
        return starter(cells_missing=missing, cells_per_l=cells_per_l)


def pitch_of(
    option: KitBillLine,
    alive: LotViability,
    packs: int | None = None,
    asked: float | None = None,
) -> Pitch:
    """Return what a lot gives a kit with the packs on its bill, or with so many.

    ``asked`` is fresh packs where a substitute asks for others than the bill. The row's kit must
    have been read with it.
    """
    kit = option.kit
    return Pitch(
        alive=alive,
        packs=option.packed if packs is None else packs,
        asked=option.exact if asked is None else asked,
        target=alive.target_share if kit.target_share is None else kit.target_share,
        floor=alive.floor_share if kit.floor_share is None else kit.floor_share,
    )


def more(given: Pitch, cells_per_l: float) -> str:
    """Return how to make up for a pitch below target; a starter is for liquid yeast."""
    ways = []
    litres = starter_litres(given.cells_missing, cells_per_l) if given.cells_missing else None
    if litres is not None:
        missing = cells(given.cells_missing)
        ways.append(f"advise a starter of {litres:g} L for the {missing} missing")
    needed = given.packs_to_target
    if needed is not None:
        ways.append(f"pack {needed} instead of {given.packs}")
    return f"{share(given.pitched)} of the pitch: {', or '.join(ways)}."


def yeast_advice(batch: Batch, rows: Sequence[Allocation]) -> dict[str, Any]:
    """Return what a batch's sheet says of its packed yeast: the pitch on brew day, and a starter.

    ``rows`` is what the batch takes of its yeast; nothing is said of yeast that is not packed.
    ``starter_l`` is None where none is needed, or none of a size that people make would do.
    """
    site = site_settings()
    lives = yeast_lives(row.lot_id for row in rows[:1])
    if not lives.yeasts:
        return {}
    row = rows[0]
    alive = lives.pitched_on(row.lot_id, batch.run_line.run.pack_on, batch.brew_on, journey(site))
    asked = frozen_row(row).exact
    given = pitch_of(row.bill_line, alive, packs=row.per_kit, asked=asked)
    grown = given.starter(site.starter_billion_per_l * 1e9)
    return {
        "pitched": given.pitched,
        "target": given.target,
        "starter_l": starter_litres(given.cells_missing, site.starter_billion_per_l * 1e9)
        if grown
        else None,
    }
