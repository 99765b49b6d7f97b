"""Worlds that services made once, put back row by row for the next test that asks for the same.

The first call in a process makes a world as a person's acts would and copies what stands in the
tables. A later call puts those rows back, in a small part of the time, if it begins where the first
began: the same arguments, day, house and people, and nothing else in the tables. From anywhere
else, and in a test with real transactions, whose hooks must run, the world is made again.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from dataclasses import dataclass
from functools import wraps
from typing import Any, ParamSpec, TypeVar
from zlib import crc32

from django.apps import apps
from django.db import connection, models
from django.utils import timezone

from boxwort.accounts.models import SiteSettings, User
from inventory.models import Place

_ROOMS = ("accounts", "jobs", "inventory", "recipes", "planning")
_LAID = {User, SiteSettings, Place}  # a migration lays rows in these
_worlds: dict[Any, World] = {}
_making: list[Any] = []

P = ParamSpec("P")
R = TypeVar("R")


@dataclass(frozen=True)
class World:
    """What a maker returned, and the rows of each table it wrote in."""

    told: Any
    rows: dict[type[models.Model], list[tuple[Any, ...]]]


def remembered(make: Callable[P, R]) -> Callable[P, R]:
    """Let a maker work once for each of its arguments, which may be anything that hashes."""

    @wraps(make)
    def again(*args: P.args, **facts: P.kwargs) -> R:
        if _making or not connection.in_atomic_block or _something_stands():
            return make(*args, **facts)
        start = (make, args, tuple(sorted(facts.items())), *_start())
        if start in _worlds:
            _put_back(_worlds[start])
        else:
            _worlds[start] = _made(lambda: make(*args, **facts))
        told: R = deepcopy(_worlds[start].told)
        return told

    return again


def lasting_pk(username: str) -> int:
    """Return the number a person of a test has in every world, as other rows refer to it."""
    return 1_000_000 + crc32(username.encode()) % 1_000_000_000


def _made(make: Callable[[], Any]) -> World:
    before = {model: set(_rows(model)) for model in _LAID}
    _making.append(make)
    try:
        told = make()
    finally:
        _making.clear()
    rows = {
        model: [row for row in _rows(model) if row not in before.get(model, ())]
        for model in _tables()
    }
    return World(told=deepcopy(told), rows={model: new for model, new in rows.items() if new})


def _put_back(world: World) -> None:
    """Write a world's rows; what a migration laid and the world changed is changed again."""
    with connection.cursor() as cursor:
        for model, rows in world.rows.items():
            columns = [connection.ops.quote_name(name) for name in _columns(model)]
            key = connection.ops.quote_name(str(model._meta.pk.column))
            changes = ", ".join(f"{name} = excluded.{name}" for name in columns)
            cursor.executemany(
                f"INSERT INTO {_table(model)} ({', '.join(columns)}) "  # noqa: S608 - our own tables
                f"VALUES ({', '.join(['%s'] * len(columns))}) "
                f"ON CONFLICT ({key}) DO UPDATE SET {changes}",
                rows,
            )


def _something_stands() -> bool:
    """Return whether any table holds a row that no migration laid there."""
    asked = [
        f"EXISTS (SELECT 1 FROM {_table(model)})"  # noqa: S608
        for model in _tables()
        if model not in _LAID
    ]
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {' OR '.join(asked)}")
        return bool(cursor.fetchone()[0])


def _start() -> tuple[Any, ...]:
    """Return what a world rests on: the day, the house, its fixed places and who is known."""
    people = User.objects.order_by("pk").values_list("pk", "username", "role")
    return (timezone.localdate(), repr(_rows(SiteSettings)), tuple(_rows(Place)), tuple(people))


def _tables() -> list[type[models.Model]]:
    return [model for room in _ROOMS for model in apps.get_app_config(room).get_models()]


def _rows(model: type[models.Model]) -> list[tuple[Any, ...]]:
    """Return a table's rows just as kept: a sign in front stops SQLite making dates of them."""
    plain = "+" if connection.vendor == "sqlite" else ""
    names = ", ".join(plain + connection.ops.quote_name(name) for name in _columns(model))
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {names} FROM {_table(model)}")  # noqa: S608
        return [tuple(row) for row in cursor.fetchall()]


def _columns(model: type[models.Model]) -> list[str]:
    return [str(field.column) for field in model._meta.local_concrete_fields]


def _table(model: type[models.Model]) -> str:
    return connection.ops.quote_name(model._meta.db_table)
