"""The job row, which is the queue: the broker only carries its number."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from boxwort.accounts.models import User


class JobState(models.TextChoices):
    """Where a job stands."""

    QUEUED = "queued", "Waiting"
    RUNNING = "running", "Running"
    DONE = "done", "Done"
    FAILED = "failed", "Failed"
    CANCELLED = "cancelled", "Cancelled"
    JOINED = "joined", "Joined to another"


class Job(models.Model):
    """One piece of background work.

    ``key`` names the thing worked on: when a job is claimed, older queued jobs of the same name
    and key are joined to it, for it reads everything that asked for them.
    """

    name = models.CharField(max_length=64)
    key = models.CharField(max_length=120)
    arguments = models.JSONField(default=dict)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    state = models.CharField(max_length=10, choices=JobState.choices, default=JobState.QUEUED)
    asked_at = models.DateTimeField(auto_now_add=True)
    not_before = models.DateTimeField(null=True, blank=True)
    published_at = models.DateTimeField(null=True, blank=True)
    started_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    most_attempts = models.PositiveSmallIntegerField(default=3)
    token = models.CharField(max_length=32, blank=True, default="")
    lease_until = models.DateTimeField(null=True, blank=True)
    cancel_asked = models.BooleanField(default=False)
    joined_to = models.ForeignKey("self", null=True, blank=True, on_delete=models.PROTECT)
    progress = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(default=0)
    stage = models.CharField(max_length=120, blank=True, default="")
    result = models.JSONField(default=dict)
    error = models.TextField(blank=True, default="")

    class Meta:
        indexes: ClassVar = [
            models.Index(fields=["state", "not_before"], name="job_waiting"),
            models.Index(fields=["name", "key", "state"], name="job_key"),
        ]
        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        """Name the work and what it is done to."""
        return f"{self.name} {self.key}"
