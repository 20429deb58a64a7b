"""What is counted far off the books is counted again by somebody else before it is booked: by hand and by sheet, by one rule.

The rule itself is `standing_of` (`inventory/domain/counting.py`). Private to services: the caller has the transaction and the locks.
"""

from __future__ import annotations

from collections.abc import Mapping

from inventory.domain.counting import CountClass, Counting, CountRules, Standing, allowed_off, standing_of
from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind
from inventory.models import Act, Person, Site
from inventory.queries.count_again import others_who_recount
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
    """Line → DomainError "recount-needed" for what was counted by hand beyond the tolerance of its class and not found alike by two people.

    Where nobody else of the site may count again, one person's count is booked and its line says so (`alone`). The error tells no more of
    the books than that they say otherwise, so that who counts next still counts blind.
    """
    rules = shop().count_rules
    standing = {
        number: _standing(one, act.actor_id, second, allowed_off(one.on_books, its_class, rules))
        for number, (one, its_class) in _classed(act, read, rules).items()
    }
    again = [number for number, its in standing.items() if its is Standing.AGAIN]
    if not again:
        return {}
    others = others_who_recount(site, [act.actor_id])
    if not others and second is None:
        for number in again:
            read[number].alone = True
        return {}
    return {number: _recount(read[number], second, others) for number in again}


def _classed(act: Act, read: Mapping[int, Counted], rules: CountRules) -> dict[int, tuple[Counted, CountClass]]:
    """The lines that differ, with a class that has their tolerance. The classes are only looked up where it is for them to decide: what is
    further off than any class allows needs no look."""
    differ = {number: one for number, one in read.items() if one.difference}
    near = [one for one in differ.values() if abs(one.difference) <= allowed_off(one.on_books, CountClass.LOW, rules)]
    classes = classed_parts(shop_day(act.occurred_at)) if near else {}
    return {
        number: (
            one,
            classes[one.item.part_id].count_class if one.item.part_id in classes else CountClass.LOW,
        )
        for number, one in differ.items()
    }


def _standing(one: Counted, first: int, second: Person | None, allowed: int) -> Standing:
    """A line as a line of a sheet would stand by the same counts."""
    if second is None or one.first is None:
        return standing_of([Counting(first, one.difference)], allowed)
    return standing_of([Counting(first, one.first - one.on_books), Counting(second.pk, one.difference)], allowed)


def _recount(one: Counted, second: Person | None, others: list[Person]) -> DomainError:
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
    return DomainError(
        "recount-needed",
        f"{label} is far off the books: another person counts it again before it is booked.",
        ways_out=(f"Name who counted again (second: {names}) and what they found (counted_again).", *sheet),
        item=label,
        people=[person.username for person in others],
    )
