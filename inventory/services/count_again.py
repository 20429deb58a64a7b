"""What is counted far off the books is counted again by somebody else before it is booked: by hand and by sheet, by one rule.

The rule itself is `standing_of` (`inventory/domain/counting.py`). Private to services: the caller has the transaction and the locks.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

from inventory.domain.counting import (
    Allowed,
    CountClass,
    Counting,
    OneWord,
    Standing,
    allowed_off,
    standing_of,
)
from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.models import Act, Person, Site
from inventory.queries.count_again import at_site, changed_on_one_word, others_who_recount
from inventory.queries.counting import classed_parts
from inventory.queries.days import shop_day
from inventory.queries.shop import shop
from inventory.services import lookup
from inventory.services.counting import Counted


def check_second(act: Act, second: Person | None, *, told: bool) -> None:
    """The second person of a count by hand; `told`: an amount of a second count was given. DomainError "second-person-needed",
    "may-not-count-again"."""
    if second is None:
        if told:
            raise DomainError(
                "second-person-needed",
                "Whose is the second count? It says nobody.",
                ways_out=("Name who counted again (second).",),
            )
        return
    if second.pk == act.actor_id:
        raise DomainError(
            "second-person-needed",
            f"{second} counted first: the second count is somebody else's.",
            person=second.username,
        )
    if not second.has_perm("inventory.act_recount"):
        raise DomainError("may-not-count-again", f"{second} may not count again.", person=second.username)


def far_off(act: Act, read: Mapping[int, Counted], second: Person | None, site: Site | None) -> dict[int, DomainError]:
    """Line → DomainError "recount-needed" for what was counted by hand beyond the tolerance of its class, by itself or together with what one
    person's counts changed since two people found the same, and was not found alike by two people.

    Where nobody else of the site may count again, one person's count is booked and its line says so (`alone`). The error tells no more of
    the books than that they say otherwise, so that who counts next still counts blind.
    """
    differ = {number: one for number, one in read.items() if one.difference}
    limits = _limits(act, differ.values(), site)
    again = [
        number
        for number, one in differ.items()
        if standing_of(_counts(one, act, second), *limits[one.pair]) is Standing.AGAIN
    ]
    if not again:
        return {}
    others = others_who_recount(site, [act.actor_id])
    if not others and second is None:
        for number in again:
            read[number].alone = True
        return {}
    by_itself = {one.pair for one in differ.values() if abs(one.difference) > limits[one.pair][0].here}
    return {number: _recount(read[number], second, others, read[number].pair in by_itself) for number in again}


def _limits(act: Act, differ: Collection[Counted], site: Site | None) -> dict[lookup.Pair, tuple[Allowed, OneWord]]:
    """(item, spot) → by how much it, and its part at the site, may be off, and what one person's counts changed of it so far.

    Classes, stock and earlier counts are only looked up where it is for them to decide: what is further off than any class allows needs
    no look."""
    rules = shop().count_rules
    near = [one for one in differ if abs(one.difference) <= allowed_off(one.on_books, CountClass.LOW, rules)]
    parts = {one.item.part_id for one in near}
    classes = classed_parts(shop_day(act.occurred_at)) if near else {}
    stock, words = at_site(site, parts), changed_on_one_word(site, parts)
    found = {}
    for one in differ:
        known = classes.get(one.item.part_id)
        its = known.count_class if known is not None else CountClass.LOW
        here, there = (allowed_off(it, its, rules) for it in (one.on_books, max(one.on_books, stock.get(one.stock, 0))))
        found[one.pair] = Allowed(here, there), words.of(one.pair, one.stock)
    return found


def _counts(one: Counted, act: Act, second: Person | None) -> list[Counting]:
    """The counts of a line by hand as those of a line of a sheet."""
    if second is None or one.first is None:
        return [Counting(act.actor_id, one.difference)]
    return [Counting(act.actor_id, one.first - one.on_books), Counting(second.pk, one.difference)]


def _recount(one: Counted, second: Person | None, others: list[Person], itself: bool) -> DomainError:
    """itself: this count alone is further off than is allowed, not only together with earlier ones."""
    label = lookup.label(one.item)
    sheet: tuple[str, ...] = (
        "Open a count sheet over it: what is counted waits there until another person has counted.",
    )
    if one.spot.place.kind != PlaceKind.SHELF:
        sheet = ()  # sheets are of shelves
    if second is not None and one.first is not None:
        return DomainError(
            "recount-needed",
            f"{label}: two people counted {one.first} and {one.counted}, and the books say otherwise: count until two find the same.",
            ways_out=("Both count again.", *sheet),
            item=label,
        )
    names = ", ".join(person.username for person in others)
    why = "is far off the books" if itself else "was found off by one person each time, and together it is too much"
    return DomainError(
        "recount-needed",
        f"{label} {why}: another person counts it again before it is booked.",
        ways_out=(f"Name who counted again (second: {names}) and what they found (counted_again).", *sheet),
        item=label,
        people=[person.username for person in others],
    )
