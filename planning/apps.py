"""Wiring of the planning app."""

from django.apps import AppConfig


class PlanningConfig(AppConfig):
    """Demand, runs, batches, re-balancing and buying."""

    name = "planning"

    def ready(self) -> None:
        """Listen to what the stock room tells, and keep issued sheets as they were issued."""
        from inventory.models.guards import guard
        from planning import receivers  # noqa: F401 - importing connects them

        sheet = ("batch_id", "number", "content", "digest", "previous_digest")
        guard("planning_sheetrevision", frozen=sheet)
