"""Triggers by which the database itself refuses to change what was written for good.

They stand on SQLite and PostgreSQL alike and refuse ordinary SQL; the owner of the database can
remove them, and ``manage.py verify_stock`` and the readiness check say so when they are gone. They
are taken down before a migrate (SQLite loses them when it rebuilds a table) and put up after it.

An app with such a table of its own adds a row to the table below when it is made ready::

    guard("planning_sheetrevision", frozen=("content", "sha256"))
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper

PREFIX = "boxwort_guard"
_FUNCTION = f"{PREFIX}_refuse"
_FUNCTION_SQL = f"""
CREATE OR REPLACE FUNCTION {_FUNCTION}() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% of % is refused: its rows are written once and kept', TG_OP, TG_TABLE_NAME
        USING ERRCODE = 'integrity_constraint_violation';
END $$
"""


@dataclass(frozen=True, kw_only=True)
class Guard:
    """A table whose rows stay; without ``frozen`` columns no column of theirs ever changes."""

    table: str
    frozen: tuple[str, ...] = ()


_GUARDS: dict[str, Guard] = {}


def guard(table: str, frozen: tuple[str, ...] = ()) -> None:
    """Guard a table from now on (from the next migrate)."""
    _GUARDS[table] = Guard(table=table, frozen=frozen)


for _table in ("inventory_posting", "inventory_move", "inventory_analysis", "accounts_history"):
    guard(_table)


def install_guards(using: str, **_: Any) -> None:
    """Put up every guard whose table exists."""
    connection = _ready_for_triggers(using)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(_FUNCTION_SQL)
        for standing in _guards_with_tables(connection):
            for name, statement in _statements(connection, standing).items():
                cursor.execute(_drop(connection, name, standing.table))
                cursor.execute(statement)


def drop_guards(using: str, **_: Any) -> None:
    """Take down every guard whose table exists."""
    connection = _ready_for_triggers(using)
    with connection.cursor() as cursor:
        for standing in _guards_with_tables(connection):
            for name in _statements(connection, standing):
                cursor.execute(_drop(connection, name, standing.table))


def guards_missing(using: str = "default") -> list[str]:
    """Return a plain sentence for each table that lacks a guard."""
    connection = connections[using]
    found = _triggers(connection)
    return [
        f"The guard against {_act(name)} of {standing.table} is missing; run manage.py migrate."
        for standing in _GUARDS.values()
        for name in _statements(connection, standing)
        if name not in found
    ]


def guards_owed(using: str = "default") -> int:
    """Return how many triggers should stand on this database."""
    connection = connections[using]
    return sum(len(_statements(connection, standing)) for standing in _GUARDS.values())


def _ready_for_triggers(using: str) -> BaseDatabaseWrapper:
    """Return the connection; PostgreSQL alters no table while checks of its rows are put off."""
    connection = connections[using]
    if connection.vendor == "postgresql" and connection.in_atomic_block:
        connection.check_constraints()
    return connection


def _guards_with_tables(connection: BaseDatabaseWrapper) -> list[Guard]:
    tables = set(connection.introspection.table_names())
    return [standing for standing in _GUARDS.values() if standing.table in tables]


def _name(act: str, table: str) -> str:
    return f"{PREFIX}_{act}_{table}"


def _act(name: str) -> str:
    return name.removeprefix(f"{PREFIX}_").split("_", 1)[0]


def _statements(connection: BaseDatabaseWrapper, standing: Guard) -> dict[str, str]:
    """Return the triggers of one guard, by name."""
    quote = connection.ops.quote_name
    columns = ", ".join(quote(column) for column in standing.frozen)
    acts = {"update": f"UPDATE OF {columns}" if columns else "UPDATE", "delete": "DELETE"}
    if connection.vendor == "postgresql":
        acts["truncate"] = "TRUNCATE"
    return {
        _name(act, standing.table): (
            f"CREATE TRIGGER {quote(_name(act, standing.table))} "
            f"BEFORE {event} ON {quote(standing.table)} {_body(connection, act, standing.table)}"
        )
        for act, event in acts.items()
    }


def _body(connection: BaseDatabaseWrapper, act: str, table: str) -> str:
    if connection.vendor == "postgresql":
        scope = "STATEMENT" if act == "truncate" else "ROW"
        return f"FOR EACH {scope} EXECUTE FUNCTION {_FUNCTION}()"
    words = f"{act} of {table} is refused: its rows are written once and kept"
    return f"BEGIN SELECT RAISE(ABORT, '{words}'); END"


def _drop(connection: BaseDatabaseWrapper, name: str, table: str) -> str:
    quote = connection.ops.quote_name
    on_table = f" ON {quote(table)}" if connection.vendor == "postgresql" else ""
    return f"DROP TRIGGER IF EXISTS {quote(name)}{on_table}"


def _triggers(connection: BaseDatabaseWrapper) -> set[str]:
    """Return the names of the triggers that stand and are switched on."""
    statement = (
        "SELECT tgname FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid "
        "WHERE NOT tgisinternal AND tgenabled IN ('O', 'A') AND pg_table_is_visible(pg_class.oid)"
        if connection.vendor == "postgresql"
        else "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    )
    with connection.cursor() as cursor:
        cursor.execute(statement)
        return {str(name) for (name,) in cursor.fetchall()}
