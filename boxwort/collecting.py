"""The garbage collector, held off while thousands of small objects are made that all stay.

Counting references frees what is dropped; the collector only looks for circles, and in each of its
full rounds it walks everything that was made so far again.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def uncollected() -> Iterator[None]:
    """Hold the collector off, in a block or in a function that this decorates.

    Where it was off before it stays off.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
