"""What the commands share: who acts, refusals as plain sentences, figures as tables.

>>> print(table(("kit", "kits"), [("Best bitter", 12), ("Saison", 6)]))
kit          kits
-----------  ----
Best bitter    12
Saison          6
"""

from __future__ import annotations

import unicodedata
from argparse import ArgumentParser
from collections.abc import Sequence
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from boxwort.accounts.models import User
from boxwort.accounts.queries import house_user
from boxwort.errors import Refusal


class TradeCommand(BaseCommand):
    """A command a kit maker runs: a refusal is one clear sentence and a non-zero exit code."""

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Add ``--as``, the person the work is written under."""
        parser.add_argument(
            "--as",
            dest="username",
            metavar="NAME",
            help="the person it is done by (default: the house itself)",
        )

    def execute(self, *args: Any, **options: Any) -> str | None:
        """Run the command; a refusal becomes its words."""
        try:
            return super().execute(*args, **options)
        except Refusal as refusal:
            raise CommandError(f"{refusal.what}\n{refusal.remedy}") from None  # noqa: EM102

    def actor(self, options: dict[str, Any]) -> User:
        """Return the person named by ``--as``, or the house."""
        name = options["username"]
        if not name:
            return house_user()
        user = User.objects.filter(username=name, is_active=True).first()
        if user is None:
            msg = f"Nobody active is called {name}. Leave --as out, or name a person who signs in."
            raise CommandError(msg)
        return user

    def say(self, text: str = "") -> None:
        """Print a line."""
        self.stdout.write(text)

    def heading(self, text: str) -> None:
        """Print a heading, set apart."""
        self.stdout.write(f"\n{self.style.MIGRATE_HEADING(text)}")

    def show(self, headers: Sequence[str], rows: Sequence[Sequence[object]]) -> None:
        """Print a table, or say that there is nothing to show."""
        self.stdout.write(table(headers, rows) if rows else "(nothing)")


def day(written: str) -> date:
    """Read a day from the command line (an argparse type)."""
    try:
        return date.fromisoformat(written)
    except ValueError:
        msg = f"{written!r} is not a day; write it as 2026-11-30"
        raise CommandError(msg) from None


def table(headers: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    """Return rows under their headers, numbers to the right."""
    cells = [[str(value) for value in row] for row in rows]
    widths = [
        max(_width(line[column]) for line in [list(headers), *cells])
        for column in range(len(headers))
    ]
    right = [
        bool(rows) and all(isinstance(row[column], int | float) for row in rows)
        for column in range(len(headers))
    ]
    lines = [list(headers), ["-" * width for width in widths], *cells]
    return "\n".join(
        "  ".join(
            _padded(value, width, to_right=aside)
            for value, width, aside in zip(line, widths, right, strict=True)
        ).rstrip()
        for line in lines
    )


def _padded(value: str, width: int, *, to_right: bool) -> str:
    space = " " * (width - _width(value))
    return f"{space}{value}" if to_right else f"{value}{space}"


def _width(value: str) -> int:
    """Return how many columns a terminal gives the text."""
    return sum(2 if unicodedata.east_asian_width(char) in "WF" else 1 for char in value)
