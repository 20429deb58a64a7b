"""Replacement links as the rules want them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from fractions import Fraction

from django.db.models import Q

from inventory.domain.companions import Companion
from inventory.domain.supersession import BothWays, Fate, Link, OneToSeveral, OneWay
from inventory.models import Replacement
from inventory.queries import by_hand

#: How far replacement notices are followed: more steps than any chain of notices has.
_MOST_STEPS = 12


def links_of(part_ids: Iterable[int]) -> list[Link]:
    """Every link that can be reached from these parts, both directions. One query for each step of the longest chain."""
    known: dict[int, Replacement] = {}
    seen: set[int] = set()
    front = set(part_ids)
    for _ in range(_MOST_STEPS):
        if not front:
            break
        rows = (
            Replacement.objects.filter(Q(old__in=front) | Q(news__part__in=front), withdrawn=False)
            .select_related("old", "join")
            .prefetch_related("news__part")
            .distinct()
        )
        seen |= front
        front = set()
        for row in rows:
            known[row.pk] = row
            front |= {row.old_id, *(new.part_id for new in row.news.all())} - seen
    return [link for row in sorted(known.values(), key=lambda row: row.pk) for link in [link_of(row)]]


_LINKED = """
    SELECT r.old_id, n.part_id FROM inventory_replacementpart n JOIN inventory_replacement r ON r.id = n.replacement_id
    WHERE NOT r.withdrawn"""
_COMPANIONS = """
    SELECT p.number, n.number, c.pieces, r.no_mix_on FROM inventory_replacementcompanion c
    JOIN inventory_replacement r ON r.id = c.replacement_id JOIN inventory_part p ON p.id = c.part_id
    JOIN inventory_part n ON n.id = c.needs_id WHERE NOT r.withdrawn AND c.part_id IN ({}) ORDER BY c.id"""


def joined_parts(part_ids: Iterable[int]) -> set[int]:
    """Other parts that replacement notices join with these, over any number of notices, either way. One query."""
    neighbours: dict[int, set[int]] = defaultdict(set)
    for old, new in by_hand.rows(_LINKED, []):
        neighbours[old].add(new)
        neighbours[new].add(old)
    first = set(part_ids)
    seen, front = set(first), set(first)
    while front:
        front = {other for part in front for other in neighbours.get(part, ())} - seen
        seen |= front
    return seen - first


def companions_of(part_ids: Iterable[int]) -> list[Companion]:
    """What notices that still count say these parts are used with, over what the notice forbids to mix, else over a bank. One query."""
    ids = sorted(set(part_ids))
    rows = by_hand.rows(_COMPANIONS.format(by_hand.marks(len(ids))), ids) if ids else []
    return [Companion(part, needs, pieces, no_mix_on == "engine") for part, needs, pieces, no_mix_on in rows]


def link_of(row: Replacement) -> Link:
    """One replacement row as a link of the rules; needs `old`, `join` and `news__part`."""
    news = sorted(row.news.all(), key=lambda new: new.pk)
    if row.way == Replacement.Way.BOTH_WAYS:
        alike = hasattr(row, "join")
        return BothWays(row.old.number, news[0].part.number, row.no_mix_on, row.condition, one_number=alike)
    fate = {
        Replacement.Fate.USE_UP: Fate.USE_UP,
        Replacement.Fate.USE_BELOW: Fate.USE_BELOW,
        Replacement.Fate.WITHDRAWN: Fate.WITHDRAWN,
    }[Replacement.Fate(row.fate)]
    limbs = tuple((new.part.number, Fraction(new.numerator, new.denominator)) for new in news)
    old_fits = f"below {row.engine_below}" if row.engine_below else None
    new_fits = f"from {row.engine_from}" if row.engine_from else None
    if row.way == Replacement.Way.ONE_WAY:
        return OneWay(row.old.number, *limbs[0], fate, old_fits, new_fits, row.no_mix_on, row.condition)
    return OneToSeveral(row.old.number, limbs, fate, old_fits, new_fits, row.no_mix_on, row.condition)
