"""Wiring of the planning app."""

from django.apps import AppConfig


class PlanningConfig(AppConfig):
    """Demand, runs, batches, re-balancing and buying."""

    name = "planning"

    def ready(self) -> None:
        """Listen to what the stock room tells."""
        from planning import receivers  # noqa: F401 - importing connects them
