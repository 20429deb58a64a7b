"""Counting: what differs from the books is a movement of its own, with a reason; history is never edited."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass

from inventory.domain.errors import DomainError
from inventory.domain.places import NO_SPOT, PlaceKind
from inventory.domain.stores import check_at_hand
from inventory.models import Act, Item, Person, Place
from inventory.queries.counting import counted_after
from inventory.services import benches, lookup, things
from inventory.services.count_again import check_second, far_off
from inventory.services.counting import Counted, against_books, book, refuse
from inventory.services.labelled import Labelled, items_labelled
from inventory.services.run import Body, Done, Stamp, run

MOST_LINES = 2000
#: What is done with what is found on the cart or at the bench of a job that is no more.
FOUND_LATE = (
    "Put it where it is kept from now on, and count it there: on a shelf, or in quarantine where its lot cannot be read or it may have been fitted.",
    "Count it at the bench of the job that it is for.",
)


@dataclass(frozen=True, slots=True)
class CountLine:
    """What was counted at one spot: an item by its id, or a part with its lot or serial (both empty: told apart by nothing).

    counted  text with a unit ("4 EA", "11.1 mL") or whole base units; zero: nothing was there
    counted_again  what the second person found, on their own; None: only one counted
    stored_wrongly  what is wrong with how it is stored; empty: it is as the rule of its kind says
    """

    counted: str | int
    item_id: int | None = None
    part: str = ""
    lot: str = ""
    serial: str = ""
    spot: str = NO_SPOT
    stored_wrongly: str = ""
    counted_again: str | int | None = None


def count(
    *,
    actor: Person,
    stamp: Stamp,
    place: str,
    lines: Sequence[CountLine],
    reason: str = "",
    looked_at: Sequence[str] = (),
    quarantine: str = "",
    second: Person | None = None,
) -> Done:
    """Compare what was counted at a place with the books as of `stamp.occurred_at`; only what is named is compared.

    A difference is posted as counted short or over and needs a reason. Holds that no longer fit end, latest fit date first, with named
    shorts. What is off by more than its class allows, alone or with what one person's counts changed since two people found the same, is
    booked when two people found the same (`second` and `counted_again`), as on a sheet; where nobody else of the site may count again, on
    one person's count, and said so. A serial that the books have in another place is refused with that place; one that was nowhere is taken back onto
    the books, saying where it was seen last. On a shelf it is looked at how things are stored, too: `looked_at` names the kinds that have
    a rule (`storage.RULES`) and were counted. Sets and gaskets that
    were found wrong go to `quarantine` until looked at, in the same act. On the cart or at the bench of an ended job nothing more than the
    books have is taken onto them ("job-ended", by line): nobody could take it from there.
    Outcome: {"place", "reason", "lines": [{part, item, identity, place, spot, counted_at, on_books, counted, difference, reason,
    base, typed, counted_by, alone, said, last_seen, last_moves, stored_wrongly, set_aside}], "shorts"}.
    Raises DomainError "nothing-given", "too-many-lines", "wrong-place", "storage-unchecked", "storage-unusable", "second-person-needed",
    "may-not-count-again"; ManyErrors by line, "recount-needed" and "counted-since" among them.
    """
    request = {
        "place": place, "reason": reason, "lines": [asdict(line) for line in lines], "looked_at": sorted(looked_at),
        "quarantine": quarantine, "second": second.pk if second is not None else None,
    }  # fmt: skip

    def work(act: Act) -> Body:
        counted_at = things.place_of(act)
        aside = things.place(quarantine) if quarantine else None
        if not lines:
            raise DomainError("nothing-given", "A count needs at least one line.")
        if len(lines) > MOST_LINES:
            raise DomainError("too-many-lines", f"{len(lines)} lines; at most {MOST_LINES}.", lines=len(lines))
        check_at_hand(lookup.kind(counted_at), counted_at.code, "counted")
        check_second(act, second, told=any(line.counted_again is not None for line in lines))
        ended = (
            benches.refusal(counted_at, FOUND_LATE) if counted_at.kind in (PlaceKind.CART, PlaceKind.BENCH) else None
        )
        items, unknown = _items(lines)
        lookup.lock((item, counted_at) for item in items.values())
        read, errors = _read(act, lines, items, counted_at, reason, second)
        wrong = dict(against_books(read))
        again = far_off(act, read, second, counted_at.site)
        since = _counted_since(act, read)
        # who is to count next is told nothing of the books by the question why they differ
        wrong |= {
            number: one
            for number, one in again.items()
            if number not in wrong or wrong[number].code == "reason-missing"
        }
        if ended is not None:
            wrong |= {number: ended for number, one in read.items() if one.difference > 0}
        wrong |= since
        refuse([*unknown.items(), *errors, *wrong.items()])
        return {"place": place, "reason": reason, **book(act, list(read.values()), reason, looked_at, aside)}

    return run("count", work, actor=actor, stamp=stamp, request=request, place=place, reason=reason)


def _counted_since(act: Act, read: dict[int, Counted]) -> dict[int, DomainError]:
    """Line → DomainError "counted-since" of what differs and was counted there later: that count stands in the books already, and the same
    difference would be booked twice. A count that was sent later comes late."""
    differ = {number: one for number, one in read.items() if one.difference}
    later = counted_after([one.pair for one in differ.values()], act.occurred_at)
    return {
        number: DomainError(
            "counted-since",
            f"{lookup.label(one.item)} was counted at {one.spot.place.code} by {its.act.actor.username} since, at "
            f"{its.at.isoformat(timespec='minutes')}: an older count changes nothing any more.",
            ways_out=(
                "Count it again now, if that is in doubt.",
                f"Take act {its.act_id} back first, if it was wrong.",
            ),
            item=lookup.label(one.item),
            act=its.act_id,
            counted_at=its.at,
        )
        for number, one in differ.items()
        if (its := later.get(one.pair)) is not None
    }


def _items(lines: Sequence[CountLine]) -> tuple[dict[int, Item], dict[int, DomainError]]:
    """The item of each line number, and the refusals of lines whose thing is not known. A bounded number of queries."""
    by_id = lookup.items(line.item_id for line in lines if line.item_id is not None)
    by_label = items_labelled({_label(line) for line in lines if line.item_id is None})
    found: dict[int, Item] = {}
    unknown: dict[int, DomainError] = {}
    for number, line in enumerate(lines, 1):
        item = by_label[_label(line)] if line.item_id is None else by_id.get(line.item_id)
        if isinstance(item, Item):
            found[number] = item
        elif item is not None:
            unknown[number] = item
        else:
            unknown[number] = DomainError("not-found", f"The books never had item {line.item_id}.", item=line.item_id)
    return found, unknown


def _label(line: CountLine) -> Labelled:
    return Labelled(line.part, line.lot, line.serial)


def _read(
    act: Act,
    lines: Sequence[CountLine],
    items: dict[int, Item],
    place: Place,
    reason: str,
    second: Person | None,
) -> tuple[dict[int, Counted], list[tuple[int, DomainError]]]:
    """The lines with what was counted, by number; what cannot be read of the others."""
    spots = things.spots(place, {line.spot for line in lines})
    read: dict[int, Counted] = {}
    errors: list[tuple[int, DomainError]] = []
    seen: set[lookup.Pair] = set()
    for number, item in items.items():
        line = lines[number - 1]
        try:
            counted, typed = lookup.amount(item, line.counted, zero=True)
            spot = spots[line.spot]
            if (item.pk, spot.pk) in seen:
                raise DomainError(
                    "counted-twice", f"{lookup.label(item)} at {line.spot} stands twice in this count.", item=item.pk
                )
            seen.add((item.pk, spot.pk))
            wrong = line.stored_wrongly.strip()
            one = Counted(item, spot, counted, typed, act.occurred_at, wrong=wrong, reason=reason)
            one.by = [act.actor.username]
            if second is not None and line.counted_again is not None:
                one.first = counted
                one.counted, one.typed = lookup.amount(item, line.counted_again, zero=True)
                one.by = [act.actor.username, second.username]
                one.by_two = one.counted == one.first
            read[number] = one
        except DomainError as error:
            errors.append((number, error))
    return read, errors
