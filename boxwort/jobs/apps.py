"""Wiring of the jobs app."""

from django.apps import AppConfig


class JobsConfig(AppConfig):
    """Background work: rows that are asked for, claimed, and finished once."""

    name = "boxwort.jobs"
    label = "jobs"
