"""People by their log-in."""

from __future__ import annotations

from inventory.domain.errors import DomainError
from inventory.domain.text import shown
from inventory.models import Person


def person_by_login(login: str) -> Person:
    """Somebody who may log in; DomainError "not-found" also for one whose log-in was closed."""
    found = Person.objects.filter(username=login, is_active=True).first()
    if found is None:
        raise DomainError("not-found", f"Nobody logs in as {shown(login)}.", person=shown(login))
    return found
