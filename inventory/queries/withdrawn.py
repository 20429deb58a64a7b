"""Numbers whose old stock a replacement notice withdraws: nothing of them is used, wherever it lies."""

from __future__ import annotations

from collections.abc import Collection

from django.db.models import Q

from inventory.models import PartJoin, Replacement

#: Parts whose old stock is withdrawn, as a list of ids in SQL: named by such a notice, or another record of a number that is.
#: The same as `withdrawn_parts`.
WITHDRAWN = """SELECT w.old_id FROM inventory_replacement w WHERE w.fate = 'withdrawn' AND NOT w.withdrawn
    UNION SELECT j.joined_id FROM inventory_partjoin j
          JOIN inventory_replacement n ON n.id = j.notice_id AND NOT n.withdrawn
          JOIN inventory_replacement w ON w.old_id = j.kept_id AND w.fate = 'withdrawn' AND NOT w.withdrawn"""


def _notices() -> Q:
    return Q(fate=Replacement.Fate.WITHDRAWN, withdrawn=False)


def withdrawn(part: str) -> Q:
    """A condition over the path to a part: its old stock is withdrawn."""
    named = Replacement.objects.filter(_notices()).values("old")
    joined = PartJoin.objects.filter(notice__withdrawn=False, kept__in=named).values("joined")
    return Q(**{f"{part}__in": named}) | Q(**{f"{part}__in": joined})


def withdrawn_parts(part_ids: Collection[int]) -> dict[int, int]:
    """Of these parts, those whose old stock is withdrawn → the notice that says so. Two queries."""
    rows = Replacement.objects.filter(_notices())
    named = dict(rows.filter(old__in=part_ids).order_by("-pk").values_list("old", "pk"))
    joins = PartJoin.objects.filter(notice__withdrawn=False, joined__in=part_ids, kept__replacements__in=rows)
    joined = dict(joins.order_by("-pk").values_list("joined", "kept__replacements__pk"))
    return joined | named
