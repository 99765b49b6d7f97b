"""Whatever happens to jobs and workers, in any order: one effect each, and nothing forgotten."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, datetime, timedelta
from unittest.mock import patch

from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from boxwort.accounts.models import User
from boxwort.jobs.claims import Cancelled, Claim, Lost, claim, fail, finish, report, stop
from boxwort.jobs.kinds import JobKind
from boxwort.jobs.models import Job, JobState
from boxwort.jobs.services import ask, cancel_job, retry_job
from boxwort.jobs.sweeping import sweep

BREW = JobKind(name="tests.brew", title="Brew", attempts=2)
LIVE = [JobState.QUEUED, JobState.RUNNING]
STEPS = ["ask", "claim", "report", "finish", "fail", "cancel", "retry", "sweep", "wait", "lapse"]


class Brewery:
    """Jobs, the workers that hold or once held them, and a clock."""

    def __init__(self) -> None:
        self.now = datetime(2026, 3, 2, tzinfo=UTC)
        self.brewer = User.objects.create_user("brewer")
        self.holders: list[Claim] = []
        self.finished: Counter[int] = Counter()
        self.answered: set[int] = set()

    def step(self, name: str, choice: int) -> None:
        getattr(self, name)(choice)
        held = Job.objects.filter(state=JobState.RUNNING, lease_until__gt=self.now)
        keys = Counter(held.values_list("key", flat=True))
        assert all(workers == 1 for workers in keys.values())
        assert all(times == 1 for times in self.finished.values())

    def ask(self, choice: int) -> None:
        ask(kind=BREW, key=f"kettle {choice % 2}", arguments={"number": choice}, by=self.brewer)

    def claim(self, choice: int) -> None:
        if (number := self._one(Job.objects.all(), choice)) and (held := claim(number.pk)):
            assert len(held.causes) == 1 + Job.objects.filter(joined_to=held.job_id).count()
            self.holders.append(held)

    def report(self, choice: int) -> None:
        self._speak(choice, lambda held: report(held, 1, 2))

    def finish(self, choice: int) -> None:
        def end(held: Claim) -> None:
            finish(held, {})
            self.finished[held.job_id] += 1
            self.answered |= {held.job_id}
            self.answered |= set(
                Job.objects.filter(joined_to=held.job_id).values_list("pk", flat=True)
            )

        self._speak(choice, end)

    def fail(self, choice: int) -> None:
        self._speak(choice, lambda held: fail(held, "It boiled over."))

    def cancel(self, choice: int) -> None:
        if job := self._one(Job.objects.filter(state__in=LIVE), choice):
            cancel_job(by=self.brewer, job=job)

    def retry(self, choice: int) -> None:
        if job := self._one(Job.objects.filter(state=JobState.FAILED), choice):
            retry_job(by=self.brewer, job=job)

    def sweep(self, _: int) -> None:
        sweep()

    def wait(self, choice: int) -> None:
        self.now += timedelta(seconds=choice)

    def lapse(self, _: int) -> None:
        self.now += timedelta(seconds=30)

    def drain(self) -> None:
        """Let patient workers do what the sweeper publishes until nothing is left."""
        for _ in range(20):
            self.lapse(0)
            sweep()
            for number in Job.objects.filter(state__in=LIVE).values_list("pk", flat=True):
                if held := claim(number):
                    self.holders.append(held)
                    self.finish(len(self.holders) - 1)

    def _speak(self, choice: int, word) -> None:
        if not self.holders:
            return
        held = self.holders[choice % len(self.holders)]
        try:
            word(held)
        except Lost:
            pass
        except Cancelled:
            stop(held)

    @staticmethod
    def _one(jobs, choice: int):
        found = list(jobs.order_by("pk"))
        return found[choice % len(found)] if found else None


class EveryHistory(TestCase):
    @settings(max_examples=60, derandomize=True)
    @given(st.lists(st.tuples(st.sampled_from(STEPS), st.integers(0, 40)), max_size=40))
    def test_one_effect_each_and_nothing_forgotten(self, steps):
        brewery = Brewery()
        with patch.object(timezone, "now", lambda: brewery.now):
            for name, choice in steps:
                brewery.step(name, choice)
            brewery.drain()

        assert not Job.objects.filter(state__in=LIVE).exists()
        done = Job.objects.filter(state=JobState.DONE).values_list("pk", flat=True)
        assert set(brewery.finished) == set(done)
        for job in Job.objects.filter(state=JobState.JOINED).select_related("joined_to"):
            assert job.joined_to.state in {JobState.DONE, JobState.FAILED, JobState.CANCELLED}
            assert (job.pk in brewery.answered) == (job.joined_to.state == JobState.DONE)
