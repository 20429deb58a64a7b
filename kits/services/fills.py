"""What is poured over what is there: fills add up, what is made anew is cleaned off first.

Private to services: an open transaction is there.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from inventory.models import Balance
from kits.domain.fills import over_book, refuse_over_book
from kits.domain.requirements import Key
from kits.models import Fitting
from kits.services.fit_facts import Facts, FitIn

#: Measured out along a joint: another one of these takes the place of the first.
LAID = ("bead", "film")


def stale_contents(facts: Facts, fittings: Sequence[FitIn]) -> list[Balance]:
    """What is poured at these positions and comes out before more goes in, in order of the request.

    What this job poured there for the same make stays, and adds up: a fill is topped up. What was there before the job, or of an earlier
    make, is drained or cleaned off; so is a bead or film over which another one is laid: sealant is laid on clean faces (common practice).
    One query where anything is there.
    """
    makes: dict[str, int] = {}
    for one in fittings:
        if facts.items[one.item].base != "piece":
            makes[one.position] = max(one.make, makes.get(one.position, 0))
    there = [row for name in makes for row in facts.there.get(name, []) if row.item.base != "piece"]
    own = _poured(facts, makes) if there else set()
    laid = {line.key for line in facts.listed.settled.lines if line.candidate.amount.how in LAID}
    return [
        row
        for row in there
        if (row.spot.name, makes[row.spot.name]) in laid
        or (row.spot.name, makes[row.spot.name], row.item_id) not in own
    ]


def refuse_overfill(facts: Facts, fittings: Sequence[FitIn], stale: Collection[Balance]) -> None:
    """Fills that add up to more than one and a half times the book, and that no word confirms. DomainError "fill-over-book"."""
    fills = facts.listed.scope.family.facts.fills
    coming: list[tuple[Key, int]] = [
        (one.key, one.amount) for one in fittings if facts.items[one.item].base == "microlitre"
    ]
    gone = {row.pk for row in stale}
    stays: list[tuple[Key, int]] = [
        (key, row.amount)
        for key in dict.fromkeys(key for key, _ in coming)
        for row in facts.there.get(key[0], [])
        if row.item.base == "microlitre" and row.pk not in gone
    ]
    refuse_over_book(over_book(fills, [*coming, *stays], facts.listed.scope.recorded))


def _poured(facts: Facts, positions: Collection[str]) -> set[tuple[str, int, int]]:
    """(position, make, item) that this job poured."""
    rows = Fitting.objects.filter(job=facts.job, spot__name__in=positions, act__corrected_by__isnull=True)
    return set(rows.exclude(item__base="piece").values_list("spot__name", "make", "item_id"))
