"""A lock file that only one process holds, and that dies with its holder."""

from __future__ import annotations

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from boxwort.errors import Refusal


@contextmanager
def only_one(path: Path, doing: str) -> Iterator[None]:
    """Hold the lock file while the block runs; the operating system frees it if the process dies.

    Parameters
    ----------
    path: the lock file; it stays behind, and means nothing when nobody holds it.
    doing: what its holder does, as in "serving this data folder".

    Raises
    ------
    Refusal: ``already-running`` when another process holds it.
    """
    with path.open("a+") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            file.seek(0)
            holder = file.read().strip() or "unknown"
            raise Refusal(
                "already-running",
                f"Another process (number {holder}) is already {doing}.",
                "Use that one, or stop it first.",
            ) from None
        file.truncate(0)
        file.write(str(os.getpid()))
        file.flush()
        yield
