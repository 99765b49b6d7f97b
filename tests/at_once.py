"""Acts done by several people at the same moment, on a database where two can write at once."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import Any

from django.db import connection

from boxwort.errors import Refusal


def at_once(*acts: Callable[[], Any]) -> list[Any]:
    """Do the acts in threads that start together; return each one's answer or refusal."""
    together = Barrier(len(acts))

    def do(act: Callable[[], Any]) -> Any:
        try:
            connection.ensure_connection()
            together.wait(timeout=20)
            return act()
        except Refusal as refusal:
            return refusal
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(do, acts))
