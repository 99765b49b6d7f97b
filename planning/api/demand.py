"""Demand by the week over the API: what is ordered and foreseen, and setting the forecast."""

from __future__ import annotations

from typing import Any

from django.utils import timezone
from rest_framework import serializers

from boxwort.accounts.models import User
from boxwort.roles import Right
from boxwort.web.operations_api import Act, CodeField, DayAsked, Reading, not_far_off
from planning.queries.demand import DemandGrid, demand_grid
from planning.services.forecast import MOST_KITS, ForecastCell, ShownGrid, set_forecast
from recipes.models import Kit

MOST_WEEKS = 104
MOST_CELLS = 5000


class WeeksAsked(DayAsked):
    """The weeks of a grid, from the one that holds the day."""

    weeks = serializers.IntegerField(min_value=1, max_value=MOST_WEEKS, default=12)


class DemandCellSerializer(serializers.Serializer[Any]):
    """Kits wanted in one week; ``left`` is of the forecast, ``kits`` is still to be sent."""

    ordered = serializers.IntegerField()
    dispatched = serializers.IntegerField()
    forecast = serializers.IntegerField()
    left = serializers.IntegerField()
    kits = serializers.IntegerField()


class DemandRowSerializer(serializers.Serializer[Any]):
    """One kit's demand, a cell for each week."""

    kit = serializers.CharField(source="kit_code")
    kit_name = serializers.CharField()
    kits = serializers.IntegerField()
    cells = DemandCellSerializer(many=True)


class DemandSerializer(serializers.Serializer[DemandGrid]):
    """Weeks, each by its Monday, and the kits wanted in them.

    ``fingerprint`` is of what is foreseen for these weeks.
    """

    weeks = serializers.ListField(child=serializers.DateField())
    fingerprint = serializers.CharField()
    rows = DemandRowSerializer(many=True)


class ForecastCellAsked(serializers.Serializer[Any]):
    """Kits foreseen in the week that holds a day; zero takes the forecast away."""

    kit = CodeField(
        Kit.objects.select_related("item"), code="item__code", help_text="A kit's code."
    )
    week_on = serializers.DateField(validators=[not_far_off])
    kits = serializers.IntegerField(min_value=0, max_value=MOST_KITS)


class ForecastAsked(WeeksAsked):
    """Cells of the forecast, and the weeks that were read with their fingerprint.

    Without a fingerprint the cells are set whatever stands there.
    """

    cells = ForecastCellAsked(many=True, max_length=MOST_CELLS)  # type: ignore[call-arg]  # of the list
    fingerprint = serializers.CharField(max_length=64, required=False)

    def validate_cells(self, value: list[dict[str, Any]]) -> list[ForecastCell]:
        """Return the cells as the service takes them."""
        return [ForecastCell(**cell) for cell in value]


class DemandWeeks(Reading, Act):
    """Return the kits wanted in the coming weeks."""

    query = WeeksAsked
    answer = DemandSerializer
    rights_by_method = {"POST": Right.PLAN_RUN}
    name = "set_forecast"
    body = ForecastAsked
    result = DemandSerializer

    def found(self, **asked: Any) -> DemandGrid:
        return demand_grid(asked.get("on") or timezone.localdate(), asked["weeks"])

    def done(self, by: User, **asked: Any) -> DemandGrid:
        """Set cells of the forecast, all of them or none.

        The weeks are returned as they stand then.
        """
        on, weeks = asked.get("on") or timezone.localdate(), asked["weeks"]
        mark = asked.get("fingerprint")
        shown = ShownGrid(first_week=on, weeks=weeks, fingerprint=mark) if mark else None
        set_forecast(by=by, cells=asked["cells"], shown=shown)
        return demand_grid(on, weeks)
