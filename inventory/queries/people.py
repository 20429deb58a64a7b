"""People by their log-in."""

from __future__ import annotations

from django.contrib.auth.models import Group

from inventory.domain.errors import DomainError
from inventory.domain.text import shown
from inventory.models import Person


def person_by_login(login: str) -> Person:
    """Somebody who may log in; DomainError "not-found" also for one whose log-in was closed."""
    found = Person.objects.filter(username=login, is_active=True).first()
    if found is None:
        raise DomainError("not-found", f"Nobody logs in as {shown(login)}.", person=shown(login))
    return found


def groups_with(right: str) -> list[str]:
    """Names of the groups that have a permission ("kits.act_book"), in alphabetical order. One query."""
    app, _, codename = right.partition(".")
    rows = Group.objects.filter(permissions__content_type__app_label=app, permissions__codename=codename)
    return list(rows.order_by("name").values_list("name", flat=True))
