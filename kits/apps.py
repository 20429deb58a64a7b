"""The rebuilds as a Django app."""

from typing import Any

from django.apps import AppConfig
from django.db.models.signals import post_migrate


def install_guards(*, using: str, **kwargs: Any) -> None:
    """After every migration run: SQLite drops the triggers of altered tables silently."""
    from inventory.models.guards import install
    from kits.models.guards import APPEND_ONLY

    install(using, APPEND_ONLY)


class KitsConfig(AppConfig):
    name = "kits"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        post_migrate.connect(install_guards, sender=self)
