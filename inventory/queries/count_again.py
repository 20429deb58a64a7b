"""Who may count again what one person found far off the books, and what one person's word changed since two people last counted."""

from __future__ import annotations

from collections.abc import Collection

from django.contrib.auth.models import Permission
from django.db.models import F, Q, Sum

from inventory.domain.counting import LineKept, Stock, Words, on_one_word
from inventory.models import Balance, Person, Site
from inventory.queries.counting import counts_kept


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


def changed_on_one_word(site: Site | None, parts: Collection[int]) -> Words:
    """What was counted in or away of these parts (ids) since two people last found the same, at a site or at all places of none. One query."""
    if not parts:
        return Words({}, {})
    rows = counts_kept().filter(item__part__in=parts, spot__place__site=site)
    rows = rows.filter(Q(by_two=True) | ~Q(on_books=F("counted"))).order_by("pk")
    kept = rows.values_list("item", "spot", "item__part", "item__base", "on_books", "counted", "by_two")
    return on_one_word(
        LineKept((item, spot), (part, base), counted - on_books, by_two)
        for item, spot, part, base, on_books, counted, by_two in kept.iterator()
    )


def at_site(site: Site | None, parts: Collection[int]) -> dict[Stock, int]:
    """Stock → base units that the books have of it now, at the site or at all places of none. One query."""
    if not parts:
        return {}
    rows = Balance.objects.filter(part__in=parts, in_shop=True, amount__gt=0, place__site=site)
    sums = rows.values_list("part", "item__base").annotate(Sum("amount")).order_by("part")
    return {(part, base): amount for part, base, amount in sums}
