"""The mechanisms every service stands on: one transaction, history, versions, request keys."""

from __future__ import annotations

import hashlib
import json
import time
from collections.abc import Callable, Mapping
from functools import wraps
from typing import Any, ParamSpec, TypeVar

from django.core.serializers.json import DjangoJSONEncoder
from django.db import IntegrityError, OperationalError, connection, models, transaction

from boxwort.accounts.models import History, Request, User, Versioned
from boxwort.errors import Refusal

P = ParamSpec("P")
T = TypeVar("T")
TRIES = 4
_RETRIED = {"40001", "40P01"}  # serialization failure, deadlock detected (PostgreSQL)


def in_one_transaction(work: Callable[[], T]) -> T:
    """Do ``work`` in a transaction; the outermost one tries again after a deadlock.

    Inside another transaction the work joins it: a failure undoes the work at once, and the
    whole unless a caller answers it.
    """
    if connection.in_atomic_block:
        with transaction.atomic():
            return work()
    for tried in range(1, TRIES + 1):
        try:
            with transaction.atomic():
                return work()
        except OperationalError as problem:
            if tried == TRIES or not _worth_another_try(problem):
                raise
            time.sleep(0.02 * tried)
    raise AssertionError  # pragma: no cover - the loop returns or raises


def _worth_another_try(problem: OperationalError) -> bool:
    return getattr(problem.__cause__, "sqlstate", None) in _RETRIED


def service(work: Callable[P, T]) -> Callable[P, T]:
    """Mark a function as a service: a person's act, all or nothing."""

    @wraps(work)
    def act(*args: P.args, **kwargs: P.kwargs) -> T:
        return in_one_transaction(lambda: work(*args, **kwargs))

    return act


def plain(values: Mapping[str, Any]) -> dict[str, Any]:
    """Return values as plain JSON (dates as text, decimals as text, rows by their id)."""
    rows = {name: v.pk if isinstance(v, models.Model) else v for name, v in values.items()}
    return json.loads(json.dumps(rows, cls=DjangoJSONEncoder))  # type: ignore[no-any-return]


def fingerprint(payload: Mapping[str, Any]) -> str:
    """Return the SHA-256 of a payload written canonically."""
    canonical = json.dumps(payload, cls=DjangoJSONEncoder, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(canonical.encode()).hexdigest()


def write_history(
    *,
    by: User,
    thing: models.Model,
    action: str,
    before: Mapping[str, Any] | None = None,
    after: Mapping[str, Any] | None = None,
) -> None:
    """Record that ``by`` did ``action`` to ``thing``; values as they were and as they became."""
    History.objects.create(
        by=by,
        thing=thing._meta.label_lower,
        thing_id=thing.pk,
        action=action,
        before=plain(before or {}),
        after=plain(after or {}),
    )


def change_version(
    *, by: User, thing: Versioned, expected: int, action: str, changes: Mapping[str, Any]
) -> None:
    """Change a row if it still has the version the person started from, and record it.

    Raises
    ------
    Refusal: ``changed-by-someone-else`` when another change came first.
    """
    before = {name: getattr(thing, name) for name in changes}
    changed = (
        type(thing)
        ._default_manager.filter(pk=thing.pk, version=expected)
        .update(**changes, version=expected + 1)
    )
    if not changed:
        raise Refusal(
            "changed-by-someone-else",
            f"{thing} was changed by someone else after you opened it.",
            "Open it again to see the change, then repeat yours if it is still needed.",
        )
    for name, value in changes.items():
        setattr(thing, name, value)
    thing.version = expected + 1
    write_history(by=by, thing=thing, action=action, before=before, after=changes)


def answer_once(
    *, by: User, key: str, payload: Mapping[str, Any], work: Callable[[], dict[str, Any]]
) -> dict[str, Any]:
    """Do ``work`` the first time this person sends this key; later return the same answer.

    The answer is kept with a fingerprint of the payload, in the transaction of the work.

    Raises
    ------
    Refusal: ``key-used-for-another-request`` when the key came with another payload before.
    """
    mark = fingerprint(payload)

    def first_time_or_again() -> dict[str, Any]:
        try:
            with transaction.atomic():
                request = Request.objects.create(actor=by, key=key, fingerprint=mark)
        except IntegrityError:
            return _earlier_answer(by, key, mark)
        request.result = plain(work())
        request.save(update_fields=["result"])
        return dict(request.result)

    return in_one_transaction(first_time_or_again)


def _earlier_answer(by: User, key: str, mark: str) -> dict[str, Any]:
    earlier = Request.objects.get(actor=by, key=key)
    if earlier.fingerprint != mark:
        raise Refusal(
            "key-used-for-another-request",
            f"The request key {key} was already used for a different request.",
            "Send each new request with a key of its own.",
        )
    return dict(earlier.result)
