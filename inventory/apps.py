"""Wiring of the inventory app."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate, pre_migrate


class InventoryConfig(AppConfig):
    """See the package's rooms; this only wires them."""

    name = "inventory"

    def ready(self) -> None:
        """Keep the fixed places and the guards standing around every migrate, and watch them."""
        from boxwort.web.health import register
        from inventory.models.fixed import lay_fixed_places
        from inventory.models.guards import drop_guards, guards_missing, install_guards

        pre_migrate.connect(drop_guards, sender=self)
        post_migrate.connect(lay_fixed_places, sender=self)
        post_migrate.connect(install_guards, sender=self)
        register("ledger guards", lambda: " ".join(guards_missing()))
