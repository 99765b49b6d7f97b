"""Wiring of the shell."""

import gc

from django.apps import AppConfig


class WebConfig(AppConfig):
    """The frame, the doors and the wording that every page and API operation shares."""

    name = "boxwort.web"
    label = "web"

    def ready(self) -> None:
        """Let the garbage collector pass over what was loaded: it stays until the process ends.

        Otherwise each of its full rounds, a few in every larger request, walks all of it again.
        """
        gc.freeze()
