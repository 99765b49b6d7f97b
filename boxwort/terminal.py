"""What the commands share: who acts, refusals as plain sentences, figures as tables.

>>> print(table(("kit", "kits"), [("Best bitter", 12), ("Saison", 6)]))
kit          kits
-----------  ----
Best bitter    12
Saison          6
"""

from __future__ import annotations

import unicodedata
from argparse import ArgumentParser, ArgumentTypeError
from collections.abc import Sequence
from datetime import date
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from boxwort.accounts.models import User
from boxwort.accounts.queries import house_user
from boxwort.errors import Refusal
from boxwort.roles import Right


class HouseCommand(BaseCommand):
    """A command on tables that are up to date: a refusal is its words and a non-zero exit code."""

    def execute(self, *args: Any, **options: Any) -> str | None:
        """Bring the tables up to date and run the command; a refusal becomes its words."""
        try:
            self.prepare()
            return super().execute(*args, **options)
        except Refusal as refusal:
            raise CommandError(f"{refusal.what}\n{refusal.remedy}") from None  # noqa: EM102

    def prepare(self) -> None:
        """Make ready what the command stands on."""
        bring_up_to_date()

    def say(self, text: str = "") -> None:
        """Print a line."""
        self.stdout.write(text)

    def heading(self, text: str) -> None:
        """Print a heading, set apart."""
        self.stdout.write(f"\n{self.style.MIGRATE_HEADING(text)}")

    def show(self, headers: Sequence[str], rows: Sequence[Sequence[object]]) -> None:
        """Print a table, or say that there is nothing to show."""
        self.stdout.write(table(headers, rows) if rows else "(nothing)")


class TradeCommand(HouseCommand):
    """A command that does something of the trade under a person's name, by the same rights."""

    right: Right

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Add ``--as``, the person the work is written under."""
        parser.add_argument(
            "--as",
            dest="username",
            metavar="NAME",
            help="the person it is done by (default: the house itself)",
        )

    def actor(self, options: dict[str, Any]) -> User:
        """Return the person named by ``--as``, or the house."""
        name = options["username"]
        if not name:
            return house_user()
        user = User.objects.filter(username=name, is_active=True).first()
        if user is None:
            msg = f"Nobody active is called {name}. Leave --as out, or name a person who signs in."
            raise CommandError(msg)
        self.check_right(user, self.right)
        return user

    def check_right(self, user: User, right: Right) -> None:
        """Refuse what a person may not do on the site either; the house itself may do anything."""
        if user.is_active and not user.may(right):
            held = right.replace("-", " ")
            msg = f"{user.username} does not hold the right “{held}”. Name somebody who does."
            raise CommandError(msg)


def day(written: str) -> date:
    """Read a day from the command line (an argparse type)."""
    try:
        return date.fromisoformat(written)
    except ValueError:
        msg = f"{written!r} is not a day; write it as 2026-11-30"
        raise ArgumentTypeError(msg) from None


def bring_up_to_date() -> None:
    """Apply waiting migrations to the database of one machine; ask for it to be done elsewhere.

    Raises
    ------
    Refusal: ``database-not-migrated`` when the database is shared and its tables are old.
    """
    executor = MigrationExecutor(connection)
    if not executor.migration_plan(executor.loader.graph.leaf_nodes()):
        return
    if connection.vendor != "sqlite":
        raise Refusal(
            "database-not-migrated",
            "The tables of the database are older than this program.",
            "Run “python manage.py migrate”, then repeat this.",
        )
    call_command("migrate", interactive=False, verbosity=0)


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
