"""Whether the site lives, and whether it is ready for work; open to a probe without sign-in.

An app adds its own check when it is wired::

    register("ledger triggers", missing_triggers)  # returns "" where all is well
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from http import HTTPStatus

from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, JsonResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

Check = Callable[[], str]
log = logging.getLogger(__name__)
_checks: dict[str, Check] = {}


def register(name: str, check: Check) -> None:
    """Add a check of readiness: it returns what is wrong, or nothing."""
    _checks[name] = check


def faults() -> dict[str, str]:
    """Return what is wrong by the name of its check; the database is asked first and alone."""
    try:
        found = {name: check() for name, check in {**_OWN, **_checks}.items()}
    except DatabaseError as problem:
        return {"database": f"does not answer: {problem}"}
    return {name: wrong for name, wrong in found.items() if wrong}


def _database() -> str:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
        return "" if cursor.fetchone() == (1,) else "answers wrongly"


def _migrations() -> str:
    executor = MigrationExecutor(connection)
    waiting = executor.migration_plan(executor.loader.graph.leaf_nodes())
    return f"{len(waiting)} not applied: run manage.py migrate" if waiting else ""


_OWN: dict[str, Check] = {"database": _database, "migrations": _migrations}


@login_not_required
@never_cache
@require_safe
def health_live(request: HttpRequest) -> JsonResponse:
    """Answer that the process runs."""
    return JsonResponse({"status": "ok"})


@login_not_required
@never_cache
@require_safe
def health_ready(request: HttpRequest) -> JsonResponse:
    """Answer whether work can be done; what exactly is wrong goes to the log, not to strangers."""
    found = faults()
    for name, wrong in found.items():
        log.error("Not ready: %s: %s", name, wrong)
    told = {"status": "failing" if found else "ok", "failing": sorted(found)}
    status = HTTPStatus.SERVICE_UNAVAILABLE if found else HTTPStatus.OK
    return JsonResponse(told, status=status)
