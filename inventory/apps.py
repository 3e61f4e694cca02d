"""The inventory app; after each migrate the SQL functions and the grants are applied again in full."""

from typing import Any

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class InventoryConfig(AppConfig):
    """What stands where."""

    name = "inventory"
    label = "inventory"

    def ready(self) -> None:
        """Hook the database rules to migrate."""
        post_migrate.connect(_apply_database_rules)


def _apply_database_rules(sender: AppConfig, using: str, **_: Any) -> None:
    from inventory import database

    database.apply(sender, using)
