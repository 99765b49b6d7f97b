"""Work the ledger and the batches out again and say what differs."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandError

from boxwort.terminal import HouseCommand
from inventory.queries.verify import stock_check
from planning.queries.verify import batch_check
from planning.queries.verify_dispatches import dispatch_check


class Command(HouseCommand):
    """``manage.py verify_stock``: exit code 0 when everything agrees, 1 when anything differs."""

    help = (
        "Work out every balance, total and reservation again from the moves alone, check the "
        "rules of the ledger and its guards, that each batch, its sheets and its moves agree, and "
        "each order, its dispatches and their moves. "
        "Says in plain words what differs. Changes nothing. Exit code 1 if anything differs."
    )

    def handle(self, *_: Any, **__: Any) -> None:
        """Print what was checked and each difference."""
        stock, batches, dispatched = stock_check(), batch_check(), dispatch_check()
        checked = (
            *stock.checked,
            ("batches", batches.batches),
            ("sheets", batches.sheets),
            ("dispatches", dispatched.dispatches),
        )
        counted = ", ".join(f"{count:,} {thing}" for thing, count in checked)
        self.stdout.write(f"Checked {counted}.")
        differences = [*stock.differences, *batches.differences, *dispatched.differences]
        for difference in differences:
            self.stdout.write(f"- {difference}")
        if differences:
            found = "1 difference" if len(differences) == 1 else f"{len(differences)} differences"
            msg = f"{found} found."
            raise CommandError(msg)
        self.stdout.write("Everything agrees with the moves.")
