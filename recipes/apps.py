"""Wiring of the recipes app."""

from django.apps import AppConfig


class RecipesConfig(AppConfig):
    """See the package's rooms; this only wires them."""

    name = "recipes"

    def ready(self) -> None:
        """Have the database keep the rows of frozen bills as they were written."""
        from inventory.models.guards import guard

        guard("recipes_kitbillline")
        guard("recipes_kitbillsubstitute")
