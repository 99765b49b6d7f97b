"""Rows that people edit, written once: made if new, changed where they differ, with history."""

from __future__ import annotations

from collections.abc import Mapping
from functools import reduce
from operator import and_
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import CheckConstraint, Q, Value

from boxwort.accounts.models import User, Versioned
from boxwort.accounts.services import change_version, write_history
from boxwort.errors import Refusal


def write_row(
    *, by: User, row: Versioned, values: Mapping[str, Any], expected: int | None = None
) -> None:
    """Insert a new row, or change what differs in one that stands, with its history."""
    changes = {name: value for name, value in values.items() if getattr(row, name) != value}
    for name, value in changes.items():
        setattr(row, name, value)
    check_row(row)
    if row._state.adding:
        row.save(force_insert=True)
        write_history(by=by, thing=row, action="made", after=values)
    elif changes or (expected is not None and expected != row.version):
        stored = type(row)._default_manager.get(pk=row.pk)
        start = stored.version if expected is None else expected
        change_version(by=by, thing=stored, expected=start, action="changed", changes=changes)
        row.version = stored.version


def check_row(row: models.Model) -> None:
    """Refuse a row that its own fields and constraints would not take, in their words."""
    settled = {field.name for field in row._meta.fields if _settled(field)}
    try:
        row.full_clean(exclude=settled, validate_constraints=False)
        if not _constraints_hold(row, settled):
            row.validate_constraints(exclude=settled)  # again, one by one, for the words
    except ValidationError as problem:
        faults = {
            name: [str(word) for word in words] for name, words in problem.message_dict.items()
        }
        name, words = next(iter(faults.items()))
        raise Refusal(
            "entry-not-valid",
            f"{_field_words(row, name)}: {words[0]}",
            "Correct that entry and try again.",
            details={"faults": faults},
        ) from None


def _constraints_hold(row: models.Model, settled: set[str]) -> bool:
    """Return whether a row meets its constraints, asking the database once for all its checks.

    Each check asked by itself is two fifths of what an import takes.
    """
    checks = [one for one in row._meta.constraints if isinstance(one, CheckConstraint)]
    others = [one for one in row._meta.constraints if one not in checks]
    try:
        for constraint in others:
            constraint.validate(type(row), row, exclude=settled)
    except ValidationError:
        return False
    conditions = [
        Q(check.condition)
        for check in checks
        if Q(check.condition).referenced_base_fields.isdisjoint(settled)
    ]
    given = {
        field.name: Value(getattr(row, field.attname), field)
        for field in row._meta.concrete_fields
        if field.name not in settled
    }
    return not conditions or reduce(and_, conditions).check(given)


def _field_words(row: models.Model, name: str) -> str:
    thing = str(row._meta.verbose_name).capitalize()
    return thing if name == "__all__" else f"{thing}, {name.replace('_', ' ')}"


def _settled(field: models.Field[Any, Any]) -> bool:
    """Return whether the service has settled a field: a related row, or a list of known words."""
    return field.is_relation or isinstance(field, models.JSONField)
