"""The stores as a Django app."""

import sqlite3
from typing import Any

from django.apps import AppConfig
from django.db.backends.signals import connection_created
from django.db.models.signals import post_migrate
from django.utils.module_loading import autodiscover_modules


def install_guards(*, using: str, **kwargs: Any) -> None:
    """After every migration run: SQLite drops the triggers of altered tables silently."""
    from inventory.models.guards import APPEND_ONLY, install

    install(using, APPEND_ONLY)


def widen_statements(*, connection: Any, **kwargs: Any) -> None:
    """SQLite takes as many parameters as it was built for, not the 999 of long ago: a long list is written in one statement."""
    if connection.vendor == "sqlite":
        connection.features.max_query_params = connection.connection.getlimit(sqlite3.SQLITE_LIMIT_VARIABLE_NUMBER)


class InventoryConfig(AppConfig):
    name = "inventory"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        post_migrate.connect(install_guards, sender=self)
        connection_created.connect(widen_statements)
        # What an app asks before its acts are taken back, what a stop means to it, how it reads what a notice names, which tables it takes in,
        # until when it wants a piece of a lot kept, which benches take nothing any more, what the audit looks at in its rows.
        asked = ("corrections", "stopped", "notices", "tables", "kept", "benches")
        autodiscover_modules(*(f"services.{name}" for name in asked), "queries.audit_checks")
