"""Wiring of the shell."""

from django.apps import AppConfig


class WebConfig(AppConfig):
    """The frame, the doors and the wording that every page and API operation shares."""

    name = "boxwort.web"
    label = "web"
