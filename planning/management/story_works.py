"""What the demonstration does beside its run: trial brews, and work on lots in the store room.

Each act is handed over to be done once, under a name of its own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial
from typing import Any

from boxwort.accounts.models import User
from boxwort.quantities import MG_PER_G, MG_PER_KG, UL_PER_L
from inventory.models import Conversion, Lot, Packing, Place
from inventory.services.blending import blend_lots
from inventory.services.conversions import Used
from inventory.services.repacking import Left, decant_lot, mill_lot, repack_lot
from inventory.services.works import Made, Taken
from recipes.brewing.roles import MethodKind
from recipes.models import Method, TrialBatch
from recipes.queries.trial_stock import trial_stock
from recipes.services.trials import record_trial, take_trial_stock

Once = Callable[[str, Callable[[], dict[str, Any]]], None]
"""Does an act under a name, unless it was done before."""

TRIED = "BROWN"


@dataclass(frozen=True, kw_only=True)
class Brewed:
    """A trial brew as it was measured: gravities SG, litres into the fermenter."""

    code: str
    days_ago: int
    og: float
    fg: float
    litres: float
    note: str
    from_stock: bool = False


TRIALS = (
    Brewed(
        code="BROWN-T1",
        days_ago=70,
        og=1.044,
        fg=1.013,
        litres=19.6,
        note="The mash stood two degrees too warm; fuller than it should be.",
    ),
    Brewed(
        code="BROWN-T2",
        days_ago=28,
        og=1.045,
        fg=1.011,
        litres=19.8,
        note="Mash at 67 °C held. Good malt; it could be more bitter.",
        from_stock=True,
    ),
)


@dataclass(frozen=True, kw_only=True)
class StoreRoom:
    """The works on lots and trial brews of the demonstration, by one person on one day."""

    by: User
    today: date
    once: Once

    def brew_trials(self) -> None:
        """Write down what two trial brews measured; the second was brewed from stock."""
        for brewed in TRIALS:
            self.once(f"demo trial {brewed.code}", partial(self._tried, brewed))

    def work_on_lots(self) -> None:
        """Mill a malt, repack an old hop lot, decant a drum, and blend the ends of two crops."""
        for key, work in (
            ("demo mill", self._milled),
            ("demo repack", self._repacked),
            ("demo decant", self._decanted),
            ("demo blend", self._blended),
        ):
            self.once(key, partial(_done, work, key))

    def _tried(self, brewed: Brewed) -> dict[str, Any]:
        method = Method.objects.filter(revision__recipe__code=TRIED, kind=MethodKind.ALL_GRAIN)
        trial = record_trial(
            by=self.by,
            method=method.order_by("revision__number")[0],
            code=brewed.code,
            brewed_on=self.today - timedelta(days=brewed.days_ago),
            measured_og=brewed.og,
            measured_fg=brewed.fg,
            measured_volume=round(brewed.litres * UL_PER_L),
            note=brewed.note,
        )
        if brewed.from_stock:
            self._take_stock(trial)
        return {"trial": trial.pk}

    def _take_stock(self, trial: TrialBatch) -> None:
        used = [
            Used(line=row.key, lot_id=offer.lot.lot_id, quantity=offer.proposed)
            for row in trial_stock(trial)
            for offer in row.offers
            if offer.proposed
        ]
        take_trial_stock(
            by=self.by,
            trial=trial,
            used=used,
            expected=trial.version,
            key=f"demo stock of {trial.code}",
        )

    def _milled(self, key: str) -> Conversion:
        return mill_lot(
            by=self.by,
            key=key,
            on=self.today,
            taken=_taken("CRY65-26-01", "STORE", 20 * MG_PER_KG),
            made=_made("CRY65-26-01C", "RACK", 19_850 * MG_PER_G),
        )

    def _repacked(self, key: str) -> Conversion:
        return repack_lot(
            by=self.by,
            key=key,
            on=self.today,
            taken=_taken("CAS-25-01", "COLD", 250 * MG_PER_G),
            made=_made("CAS-25-01V", "COLD", 246 * MG_PER_G),
            packing=Packing.BARRIER,
        )

    def _decanted(self, key: str) -> Conversion:
        return decant_lot(
            by=self.by,
            key=key,
            on=self.today,
            taken=_taken("LMUN-26-01", "STORE", 15 * MG_PER_KG),
            made=_made("LMUN-26-01D", "RACK", 9 * MG_PER_KG),
            left=Left(quantity=5_900 * MG_PER_G, code="LMUN-26-01R"),
        )

    def _blended(self, key: str) -> Conversion:
        return blend_lots(
            by=self.by,
            key=key,
            on=self.today,
            taken=[
                _taken("COL-25-01", "COLD", 400 * MG_PER_G),
                _taken("COL-26-01", "COLD", 300 * MG_PER_G),
            ],
            made=_made("COL-26-02", "COLD", 692 * MG_PER_G),
            packing=Packing.BARRIER,
        )


def _done(work: Callable[[str], Conversion], key: str) -> dict[str, Any]:
    return {"work": work(key).pk}


def _taken(lot: str, place: str, quantity: int) -> Taken:
    row = Lot.objects.get(code=lot)
    return Taken(lot_id=row.pk, quantity=quantity, place=Place.objects.get(code=place))


def _made(code: str, place: str, quantity: int) -> Made:
    return Made(code=code, quantity=quantity, place=Place.objects.get(code=place))
