"""What every command does alike: days, tables that are old, and refusals."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection

from boxwort import terminal
from tests.sites import TREE, environment


def manage(data: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run a command as a person does, on a data folder of its own and SQLite."""
    return subprocess.run(
        [sys.executable, "manage.py", *words],
        cwd=TREE,
        env=environment(data),
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_first_command_on_a_new_machine_makes_the_tables(tmp_path: Path) -> None:
    done = manage(tmp_path, "verify_stock")
    assert (done.returncode, done.stderr) == (0, "")
    assert "Everything agrees with the moves." in done.stdout


def test_a_word_that_is_no_day_is_told_without_a_traceback(data_folder: Path) -> None:
    done = manage(data_folder, "plan_run", "tomorrow", "KIT-IPA=1")
    assert done.returncode == 2
    assert "'tomorrow' is not a day; write it as 2026-11-30" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_reader_who_has_seen_enough_is_no_failure_to_report(tmp_path: Path) -> None:
    reader, writer = os.pipe()
    os.close(reader)
    with os.fdopen(writer, "w") as gone:
        done = subprocess.run(
            [sys.executable, "manage.py", "help"],
            cwd=settings.BASE_DIR,
            env=os.environ | {"BOXWORT_DATA": str(tmp_path)},
            stdout=gone,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert (done.returncode, done.stderr) == (1, "")


@pytest.mark.django_db
def test_old_tables_of_a_shared_database_are_left_to_whoever_keeps_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    plan = staticmethod(lambda _targets: [("a migration", False)])
    monkeypatch.setattr(terminal.MigrationExecutor, "migration_plan", plan)
    monkeypatch.setattr(connection, "vendor", "postgresql")
    with pytest.raises(CommandError, match="the database are older"):
        call_command("yeast_report")


def test_a_person_may_do_on_the_terminal_what_they_may_do_on_the_site(data_folder: Path) -> None:
    manage(data_folder, "add_person", "vera", "--role", "viewer")
    done = manage(data_folder, "rebalance", "--as", "vera")
    assert done.returncode == 1
    assert "vera does not hold the right “run job”" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_folder_that_cannot_be_made_stops_the_demonstration_at_once(
    tmp_path: Path, data_folder: Path
) -> None:
    (tmp_path / "file").touch()
    done = manage(data_folder, "demo", "--no-serve", "--out", str(tmp_path / "file" / "in"))
    assert done.returncode == 1
    assert "Name another folder with --out" in done.stderr
    assert "Imported" not in done.stdout
