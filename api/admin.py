"""Django's admin: for reading, but for people and groups. Everything else is written by acts, through the services."""

from __future__ import annotations

from typing import Any

from django.apps import apps
from django.contrib import admin
from django.contrib.auth import get_user_model
from django.contrib.auth.admin import UserAdmin
from django.http import HttpRequest
from rest_framework.authtoken.models import TokenProxy


class ReadOnlyAdmin(admin.ModelAdmin):
    """Looking only; no button writes."""

    list_per_page = 50
    show_full_result_count = False

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """No."""
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """No."""
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """No."""
        return False

    def get_actions(self, request: HttpRequest) -> dict[str, Any]:
        """None: the ready-made one deletes."""
        return {}


class PersonAdmin(UserAdmin):
    """People: log-ins, groups, home site. Nobody who acted is deleted; a log-in is switched off."""

    def get_fieldsets(self, request: HttpRequest, obj: Any = None) -> Any:
        """Django's own fields and the home site."""
        own = super().get_fieldsets(request, obj)
        return own if obj is None else (*own, ("Shop", {"fields": ("home_site",)}))


for _label in ("inventory", "kits"):
    for _model in apps.get_app_config(_label).get_models():
        admin.site.register(_model, PersonAdmin if _model is get_user_model() else ReadOnlyAdmin)

# Tokens are secrets: they are given out and taken back at the log-in of the service, and shown to nobody else.
admin.site.unregister(TokenProxy)
