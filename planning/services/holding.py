"""Rows of planning held until the transaction ends: the run, then its batches, and lots last.

A held row is read again: what the person looked at may have changed since, and an act that is
tried again after a deadlock must not believe what its undone first try left in memory.
"""

from __future__ import annotations

from planning.models import Batch, Run

_OF_A_RUN = ("state", "version", "pack_on")
_OF_A_BATCH = ("state", "version")


def read_run(run: Run) -> None:
    """Read a run again, without holding it."""
    run.refresh_from_db(fields=_OF_A_RUN)


def hold_run(run: Run) -> None:
    """Hold a run: none of its batches is packed, given back or undone beside this act."""
    held = Run.objects.select_for_update(no_key=True)
    run.refresh_from_db(fields=_OF_A_RUN, from_queryset=held)


def hold_batch(batch: Batch) -> None:
    """Hold a batch and its run: no proposal is made or decided for it beside this act."""
    hold_run(batch.run_line.run)
    held = Batch.objects.select_for_update(no_key=True)
    batch.refresh_from_db(fields=_OF_A_BATCH, from_queryset=held)
