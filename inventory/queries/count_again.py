"""Who may count again what one person found far off the books."""

from __future__ import annotations

from collections.abc import Collection

from django.contrib.auth.models import Permission
from django.db.models import Q

from inventory.models import Person, Site


def others_who_recount(site: Site | None, not_these: Collection[int]) -> list[Person]:
    """Who may count again at a site but for these people (ids), by log-in; somebody without a site of their own may be at any. One query.

    site  None: a place of no site, where anybody of the shop may come
    """
    right = Permission.objects.filter(codename="act_recount", content_type__app_label="inventory")
    rows = Person.objects.filter(is_active=True).exclude(pk__in=not_these)
    if site is not None:
        rows = rows.filter(Q(home_site=site) | Q(home_site__isnull=True))
    rows = rows.filter(Q(groups__permissions__in=right) | Q(user_permissions__in=right))
    return list(rows.distinct().order_by("username"))
