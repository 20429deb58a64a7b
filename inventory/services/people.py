"""Logins of people with their role. Not an act of the books: who may log in is the owner's arrangement."""

from __future__ import annotations

from django.contrib.auth.models import Group

from inventory.domain.errors import DomainError
from inventory.models import Person, Site
from inventory.queries.catalogue import no_such_site


def make_person(
    *, actor: Person | None, username: str, name: str, role: str = "", site: str = "", password: str = ""
) -> Person:
    """A person with a login, a role (group) and a home site; one who exists is returned as they are.

    actor     who arranges it; None only for the very first person of a shop, who becomes its administrator
    password  empty: nobody can log in with it until one is set
    Raises DomainError "not-found" for an unknown role or site, "not-first" when there are people and no actor.
    """
    existing = Person.objects.filter(username=username).first()
    if existing is not None:
        return existing
    first = not Person.objects.exists()
    if actor is None and not first:
        raise DomainError(
            "not-first", "There are people in this shop: one of them has to arrange it.", username=username
        )
    given, _, family = name.partition(" ")
    person = Person.objects.create_user(
        username, password=password or None, first_name=given, last_name=family, is_staff=first, is_superuser=first
    )
    if site:
        person.home_site = Site.objects.filter(code=site).first()
        if person.home_site is None:
            raise no_such_site(site)
        person.save(update_fields=["home_site"])
    if role:
        group = Group.objects.filter(name=role).first()
        if group is None:
            raise DomainError("not-found", f"There is no role {role}.", role=role)
        person.groups.add(group)
    return person
