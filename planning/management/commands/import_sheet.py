"""Import a workbook from the terminal, or only check it."""

from __future__ import annotations

import uuid
from argparse import ArgumentParser
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError

from boxwort.errors import Refusal
from boxwort.roles import Right
from boxwort.terminal import TradeCommand
from planning.services.importing import (
    ImportResult,
    import_workbook,
    problems_of,
    workbook_problems,
)


class Command(TradeCommand):
    """``manage.py import_sheet stock.xlsx --check``."""

    right = Right.IMPORT_WORKBOOK
    help = (
        "Import one workbook: items, suppliers, lots with analyses, styles, recipes, kits, demand, "
        "zones, customer orders and what is on order; or one sheet of it as CSV. All of it goes "
        "into the books, or nothing; each bad cell is named."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the file, and whether to check only."""
        super().add_arguments(parser)
        parser.add_argument("file", type=Path, help="the workbook, an .xlsx file, or a .csv")
        parser.add_argument(
            "--check", action="store_true", help="say what is wrong, and change nothing"
        )

    def handle(self, *_: Any, **options: Any) -> None:
        """Import or check, and say what came of it as a table."""
        by, file = self.actor(options), options["file"]
        content = _content(file)
        if options["check"]:
            self._refuse(file, workbook_problems(by=by, content=content, name=file.name))
            self.say(f"{file.name} can be imported as it is.")
            return
        try:
            result = import_workbook(
                by=by, content=content, name=file.name, key=f"import {uuid.uuid4()}"
            )
        except Refusal as refusal:
            self._refuse(file, problems_of(refusal))
            return
        self._tell(file, result)

    def _tell(self, file: Path, result: ImportResult) -> None:
        self.say(f"{file.name} is imported.")
        self.show(
            ("sheet", "new", "changed", "unchanged"),
            [
                (sheet, count.new, count.changed, count.unchanged)
                for sheet, count in result.counts.items()
            ],
        )

    def _refuse(self, file: Path, problems: Sequence[Mapping[str, Any]]) -> None:
        if not problems:
            return
        self.show(
            ("sheet", "cell", "column", "value", "what is wrong", "what to do"),
            [
                tuple(
                    str(problem[name])
                    for name in ("sheet", "cell", "column", "value", "what", "remedy")
                )
                for problem in problems
            ],
        )
        number = "1 problem" if len(problems) == 1 else f"{len(problems)} problems"
        message = f"{file.name} has {number}; nothing of it was imported."
        raise CommandError(message)


def _content(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as problem:
        message = f"{file} could not be read: {problem.strerror}."
        raise CommandError(message) from problem
