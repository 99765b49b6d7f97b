"""Work the ledger out again from its moves and say what differs."""

from __future__ import annotations

import sys
from typing import Any

from django.core.management.base import BaseCommand

from inventory.queries.verify import stock_check


class Command(BaseCommand):
    """``manage.py verify_stock``: exit code 0 when everything agrees, 1 when anything differs."""

    help = (
        "Work out every balance, total and reservation again from the moves alone, check the "
        "rules of the ledger and its guards, and say in plain words what differs. "
        "Changes nothing. Exit code 1 if anything differs."
    )

    def handle(self, *args: Any, **options: Any) -> None:  # noqa: ARG002 - Django's signature
        """Print what was checked and each difference."""
        found = stock_check()
        counted = ", ".join(f"{count:,} {thing}" for thing, count in found.checked)
        self.stdout.write(f"Checked {counted}.")
        for difference in found.differences:
            self.stdout.write(f"- {difference}")
        if found.differences:
            self.stderr.write(f"{len(found.differences)} differences found.")
            sys.exit(1)
        self.stdout.write("Everything agrees with the moves.")
