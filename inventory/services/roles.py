"""Roles of the shop as groups: made once with what they may do, then the owner's to change."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from django.contrib.auth.models import Group, Permission

from inventory.models import Person


def make_roles(table: Mapping[str, Collection[str]], *, actor: Person | None, using: str = "default") -> list[str]:
    """Make the groups that are missing, with their permissions ("app.codename"); names of the new ones.

    actor   who arranges it; None when the database itself is being set up
    A group that exists is left as the owner arranged it. KeyError for a permission that does not exist.
    """
    known = {
        f"{permission.content_type.app_label}.{permission.codename}": permission
        for permission in Permission.objects.using(using).select_related("content_type")
    }
    there = set(Group.objects.using(using).values_list("name", flat=True))
    made = [name for name in table if name not in there]
    for name in made:
        group = Group.objects.using(using).create(name=name)
        group.permissions.set([known[word] for word in sorted(table[name])])
    return made
