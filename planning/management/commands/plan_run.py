"""Plan a run of kits from the terminal, and reserve it if asked."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError

from boxwort.quantities import read_naturally
from boxwort.roles import Right
from boxwort.terminal import TradeCommand, day
from planning.models import Run
from planning.queries.cuts import run_plan
from planning.services.reserving import reserve_run
from planning.services.runs import KitsAsked, plan_run
from recipes.models import Kit


class Command(TradeCommand):
    """``manage.py plan_run 2026-11-30 KIT-IPA-AG=24 KIT-BB-EX=12 --reserve``."""

    right = Right.PLAN_RUN
    help = (
        "Plan a run: which kits to pack on which day. Shows the batches it would be cut into, the "
        "lots and what is short. With --reserve the stock is held and the sheets are issued."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the day and the kits."""
        super().add_arguments(parser)
        parser.add_argument("pack_on", type=day, help="the day of packing, as 2026-11-30")
        parser.add_argument(
            "kits", nargs="+", metavar="KIT=NUMBER", help="a kit's code and how many of it"
        )
        parser.add_argument("--reserve", action="store_true", help="hold the stock for it now")

    def handle(self, *_: Any, **options: Any) -> None:
        """Plan, show, and reserve if asked."""
        by = self.actor(options)
        asked = [self._asked(written) for written in options["kits"]]
        run = plan_run(by=by, pack_on=options["pack_on"], lines=asked)
        self.say(f"Run {run.code} is planned for {run.pack_on}.")
        self._show(run)
        if options["reserve"]:
            self.check_right(by, Right.RESERVE_RUN)
            batches = reserve_run(by=by, run=run, expected=run.version)
            codes = ", ".join(batch.code for batch in batches)
            self.say(f"Run {run.code} is reserved: batches {codes}.")

    def _asked(self, written: str) -> KitsAsked:
        code, _, number = written.partition("=")
        kit = Kit.objects.select_related("item").filter(item__code=code.upper()).first()
        if kit is None:
            msg = f"No kit has the code {code}. The page of kits lists them."
            raise CommandError(msg)
        if not number.isdecimal():
            msg = f"{written!r} does not say how many; write {code}=12"
            raise CommandError(msg)
        return KitsAsked(kit=kit, kits=int(number))

    def _show(self, run: Run) -> None:
        plan = run_plan(run)
        self.show(
            ("kit", "kits", "possible", "batches of"),
            [
                (
                    line.run_line.kit.item.code,
                    line.kits,
                    line.possible,
                    " + ".join(str(batch.kits) for batch in line.batches),
                )
                for line in plan.lines
            ],
        )
        if plan.shortages:
            self.heading("Short of")
            self.show(
                ("item", "needed", "available", "short", "kits possible"),
                [
                    (
                        row.item_name,
                        read_naturally(row.needed, row.measure),
                        read_naturally(row.available, row.measure),
                        read_naturally(row.short, row.measure),
                        row.kits_possible,
                    )
                    for row in plan.shortages
                ],
            )
