from __future__ import annotations

import os
import signal
from collections.abc import Iterator

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from boxwort.jobs import sweeping


@pytest.fixture
def handlers_restored() -> Iterator[None]:
    handlers = {number: signal.getsignal(number) for number in (signal.SIGTERM, signal.SIGINT)}
    yield
    for number, handler in handlers.items():
        signal.signal(number, handler)


@pytest.mark.usefixtures("clock")
def test_one_sweep_says_how_many_it_published(asked, broker, capsys):
    asked(), asked()

    call_command("sweep_jobs")

    assert capsys.readouterr().out == "Published 2 jobs.\n"
    assert len(broker.published) == 2


@pytest.mark.usefixtures("handlers_restored")
def test_a_scheduler_sweeps_until_it_is_told_to_stop(monkeypatch):
    sweeps = []

    def sweep_then_be_stopped() -> None:
        sweeps.append(len(sweeps))
        if len(sweeps) == 3:
            os.kill(os.getpid(), signal.SIGTERM)

    monkeypatch.setattr(sweeping, "sweep", sweep_then_be_stopped)
    monkeypatch.setattr(sweeping, "close_old_connections", lambda: None)

    call_command("sweep_jobs", every=0.0)

    assert sweeps == [0, 1, 2]


@pytest.mark.parametrize("written", ["0", "-3", "nan", "soon", "1e9"])
def test_a_rest_that_is_none_or_endless_is_refused(written):
    with pytest.raises(CommandError, match="is not a number of seconds"):
        call_command("sweep_jobs", f"--every={written}")
