"""A kind of work, a person who asks for it, a clock that tests wind, and a broker that notes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import pytest
from django.utils import timezone
from kombu.exceptions import OperationalError

from boxwort.accounts.models import User
from boxwort.jobs import publishing
from boxwort.jobs.kinds import JobKind
from boxwort.jobs.models import Job
from boxwort.jobs.services import ask

STEEP = JobKind(name="tests.steep", title="Steep the grain", attempts=3)


@dataclass
class Clock:
    now: datetime = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)

    def wind(self, seconds: float) -> None:
        self.now += timedelta(seconds=seconds)


@dataclass
class Broker:
    """Notes the numbers it was given; while it is away it takes none."""

    away: bool = False
    published: list[int] = field(default_factory=list)

    def send_task(self, _name: str, args: list[int], **_: object) -> None:
        if self.away:
            raise OperationalError
        self.published += args


@pytest.fixture
def clock(monkeypatch, settings) -> Clock:
    settings.JOB_LEASE_SECONDS = 30
    clock = Clock()
    monkeypatch.setattr(timezone, "now", lambda: clock.now)
    return clock


@pytest.fixture
def broker(monkeypatch) -> Broker:
    broker = Broker()
    monkeypatch.setattr(publishing.app, "send_task", broker.send_task)
    return broker


@pytest.fixture
def planner(db) -> User:
    return User.objects.create_user("planner", role="planner", first_name="Ada", last_name="Moor")


@pytest.fixture
def asked(planner: User) -> Callable[..., Job]:
    def asked(key: str = "kettle 1", **changes: object) -> Job:
        return ask(kind=STEEP, key=key, by=planner, **{"arguments": {}, **changes})

    return asked
