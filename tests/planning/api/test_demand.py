"""Demand over the API."""

from __future__ import annotations

from boxwort.roles import Role
from planning.models import Forecast
from tests.calling import Program, done_once, pointers, problem
from tests.planning.make import TODAY, Store

WEEK = TODAY.isoformat()


def test_the_forecast_is_set_once_and_read_by_the_week(planner: Program, house: Store) -> None:
    body = {"weeks": 2, "cells": [{"kit": "KIT-PALE", "week_on": WEEK, "kits": 12}]}
    done = done_once(planner, "api-demand", body=body)
    assert done == planner.read("api-demand", weeks=2)
    assert done["rows"][0]["cells"][0]["forecast"] == 12
    assert Forecast.objects.get().week_on == TODAY


def test_what_another_changed_is_not_written_over(planner: Program, house: Store) -> None:
    mark = planner.read("api-demand", weeks=2)["fingerprint"]
    cell = {"kit": "KIT-PALE", "week_on": WEEK, "kits": 12}
    planner.does("api-demand", body={"cells": [cell]})
    late = {"weeks": 2, "fingerprint": mark, "cells": [{**cell, "kits": 5}]}
    answer = planner.post("api-demand", body=late)
    problem(answer, answer.status_code, "forecast-changed")
    assert Forecast.objects.get().kits == 12


def test_cells_that_cannot_be_read_are_pointed_at(planner: Program, house: Store) -> None:
    wrong = {"cells": [{"kit": "NONE", "week_on": "soon", "kits": -1}]}
    assert pointers(planner.post("api-demand", body=wrong)) == {
        "#/cells/0/kit",
        "#/cells/0/week_on",
        "#/cells/0/kits",
    }
    assert Program(Role.PACKER).post("api-demand", body={"cells": []}).status_code == 403
