"""Ask for hop weights to be re-balanced from the terminal."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError

from boxwort.roles import Right
from boxwort.terminal import TradeCommand
from planning.queries.rebalancing import kits_with_batches
from planning.services.proposing import ask_rebalance
from recipes.models import Kit


class Command(TradeCommand):
    """``manage.py rebalance`` or ``manage.py rebalance KIT-IPA-AG``."""

    right = Right.RUN_JOB
    help = (
        "Ask for the hop weights of reserved batches to be balanced again from what is known of "
        "their lots today. A worker does it; what would change waits as proposals."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the kits, or all of them."""
        super().add_arguments(parser)
        parser.add_argument(
            "kits", nargs="*", metavar="KIT", help="kit codes (default: every kit being packed)"
        )

    def handle(self, *_: Any, **options: Any) -> None:
        """Ask for one job a kit."""
        kit_ids = [self._kit_id(code) for code in options["kits"]] or kits_with_batches()
        jobs = ask_rebalance(
            by=self.actor(options), kit_ids=kit_ids, cause="asked from the terminal"
        )
        if not jobs:
            self.say("No batch is reserved, so there is nothing to balance.")
            return
        asked = "1 re-balancing job" if len(jobs) == 1 else f"{len(jobs)} re-balancing jobs"
        self.say(f"Asked for {asked}; a running worker takes it up.")

    def _kit_id(self, code: str) -> int:
        kit_id = Kit.objects.filter(item__code=code.upper()).values_list("pk", flat=True).first()
        if kit_id is None:
            msg = f"No kit has the code {code}. The page of kits lists them."
            raise CommandError(msg)
        return kit_id
