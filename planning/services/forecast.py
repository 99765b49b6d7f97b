"""The forecast: kits foreseen by week, set as a grid of cells, all of them or none."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from boxwort.accounts.models import User
from boxwort.accounts.services import service, write_history
from boxwort.errors import Refusal
from boxwort.figures import on_date
from planning.models import Forecast
from planning.queries.demand import forecast_mark, monday_of
from recipes.models import Kit

MOST_KITS = 1_000_000


@dataclass(frozen=True, kw_only=True)
class ForecastCell:
    """Kits foreseen in the week that holds a day; zero kits take the forecast away."""

    kit: Kit
    week_on: date
    kits: int

    @property
    def kept_on(self) -> date:
        """The Monday it is kept under."""
        return monday_of(self.week_on)


@dataclass(frozen=True, kw_only=True)
class ShownGrid:
    """The weeks that a person saw, and the fingerprint of what was foreseen for them."""

    first_week: date
    weeks: int
    fingerprint: str


@service
def set_forecast(*, by: User, cells: Iterable[ForecastCell], shown: ShownGrid | None = None) -> int:
    """Set cells of the forecast, replacing what was foreseen before.

    Returns the number of cells that were changed.

    Raises
    ------
    Refusal: ``forecast-below-zero``, ``forecast-too-many``, ``forecast-twice``,
        ``kit-last-sold``, or ``forecast-changed`` where another changed what was shown.
    """
    asked = list(cells)
    _refuse_impossible(asked)
    _hold_kits(asked)
    if shown and forecast_mark(shown.first_week, shown.weeks) != shown.fingerprint:
        raise Refusal(
            "forecast-changed",
            "The forecast of these weeks was changed by someone else after you opened it.",
            "Open it again to see the change, then repeat yours if it is still needed.",
        )
    standing = _standing(asked)
    return sum(_set(by, cell, standing.get(_key(cell))) for cell in asked)


_Key = tuple[int, date]


def _key(cell: ForecastCell) -> _Key:
    return cell.kit.pk, cell.kept_on


def _refuse_impossible(cells: Sequence[ForecastCell]) -> None:
    for cell in cells:
        code, week = cell.kit.item.code, on_date(cell.kept_on)
        if cell.kits < 0:
            raise Refusal(
                "forecast-below-zero",
                f"{cell.kits} of {code} are foreseen in the week of {week}.",
                "Give a number of kits, or zero to take the forecast away.",
            )
        if cell.kits > MOST_KITS:
            raise Refusal(
                "forecast-too-many",
                f"{cell.kits} of {code} are foreseen in the week of {week}.",
                f"Give at most {MOST_KITS} kits.",
            )
        last = cell.kit.last_sale_on
        if cell.kits and last is not None and cell.kept_on > last:
            raise Refusal(
                "kit-last-sold",
                f"{code} is sold until {on_date(last)}, before the week of {week}.",
                "Leave the weeks after its last sale empty, or change the day on the kit.",
            )
    for key, times in Counter(_key(cell) for cell in cells).items():
        if times > 1:
            cell = next(cell for cell in cells if _key(cell) == key)
            raise Refusal(
                "forecast-twice",
                f"{cell.kit.item.code} in the week of {on_date(cell.kept_on)} is written "
                f"{times} times.",
                "Add the kits up into one cell.",
            )


def _hold_kits(cells: Sequence[ForecastCell]) -> None:
    """Hold the kits, so that nobody else sets a forecast of them meanwhile."""
    kits = Kit.objects.filter(pk__in={cell.kit.pk for cell in cells}).order_by("pk")
    list(kits.select_for_update(no_key=True).values_list("pk", flat=True))


def _standing(cells: Sequence[ForecastCell]) -> dict[_Key, Forecast]:
    """Return what is already foreseen for these kits and weeks."""
    found = Forecast.objects.filter(
        kit__in={cell.kit.pk for cell in cells}, week_on__in={cell.kept_on for cell in cells}
    )
    return {(forecast.kit_id, forecast.week_on): forecast for forecast in found}


def _set(by: User, cell: ForecastCell, standing: Forecast | None) -> bool:
    before = standing.kits if standing else 0
    if before == cell.kits:
        return False
    forecast = standing or Forecast(kit=cell.kit, week_on=cell.kept_on)
    if cell.kits:
        forecast.kits = cell.kits
        forecast.save()
    write_history(
        by=by,
        thing=forecast,
        action="set forecast" if cell.kits else "took forecast away",
        before={"kits": before},
        after={"kits": cell.kits, "kit": cell.kit.item.code, "week_on": cell.kept_on},
    )
    if not cell.kits:
        forecast.delete()
    return True
