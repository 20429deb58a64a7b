"""Numbers whose old stock a replacement notice leaves to engines below a number."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection

from inventory.models import PartJoin, Replacement

#: Parts whose old stock goes into engines below a number only, as a list of ids in SQL: named by such a notice, or another record of
#: a number that is. The same as `below_only`.
LIMITED = """SELECT w.old_id FROM inventory_replacement w WHERE w.fate = 'use only below a number' AND NOT w.withdrawn
    UNION SELECT j.joined_id FROM inventory_partjoin j
          JOIN inventory_replacement n ON n.id = j.notice_id AND NOT n.withdrawn
          JOIN inventory_replacement w ON w.old_id = j.kept_id AND w.fate = 'use only below a number' AND NOT w.withdrawn"""


def below_only(part_ids: Collection[int]) -> dict[int, list[str]]:
    """Of these parts, those that notices leave to engines below a number → these numbers, as they were typed. Two queries, none for no
    part."""
    if not part_ids:
        return {}
    rows = Replacement.objects.filter(fate=Replacement.Fate.USE_BELOW, withdrawn=False)
    found: dict[int, list[str]] = defaultdict(list)
    for part, below in rows.filter(old__in=part_ids).order_by("pk").values_list("old", "engine_below"):
        found[part].append(below)
    joins = PartJoin.objects.filter(notice__withdrawn=False, joined__in=part_ids, kept__replacements__in=rows)
    named = joins.order_by("kept__replacements").values_list("joined", "kept__replacements__engine_below")
    for part, below in named.filter(kept__replacements__in=rows):
        found[part].append(below)
    return dict(found)
