"""The ways in and out as a Django app."""

from typing import Any

from django.apps import AppConfig, apps
from django.db.models.signals import post_migrate


def make_roles(*, using: str, **kwargs: Any) -> None:
    """After every migration run: roles that are missing are made; what the owner changed stays."""
    from api.rest.permissions import ROLES, of_role
    from inventory.services.roles import make_roles as make

    make({role: of_role(role) for role in ROLES}, actor=None, using=using)


class ApiConfig(AppConfig):
    name = "api"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        # the kits' tables and permissions come last; this app has no tables, so no signal of its own
        post_migrate.connect(make_roles, sender=apps.get_app_config("kits"))
