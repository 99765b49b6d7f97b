"""Wiring of the accounts app."""

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class AccountsConfig(AppConfig):
    """People, history, request keys and the site's settings."""

    name = "boxwort.accounts"
    label = "accounts"

    def ready(self) -> None:
        """Keep the fixed rows in place after every migrate."""
        from boxwort.accounts.fixed import lay_fixed_rows

        post_migrate.connect(lay_fixed_rows, sender=self)
