"""What is asked before a thing lies at a place that does not suit it, or beside what it is kept apart from.

Private to services: an open transaction is there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.places import PlaceKind
from inventory.domain.storage import Needs, asked
from inventory.models import Act, Item, Part, Spot, StorageWord
from inventory.queries.storage import lying_at, needs_of, offers_at

#: Where things are kept; on carts and benches they are used.
STORES = frozenset({PlaceKind.SHELF, PlaceKind.QUARANTINE, PlaceKind.VAN, PlaceKind.CRATE})


@dataclass(frozen=True, slots=True)
class Coming:
    """A thing that comes to lie at a spot, and the line of the request that says so."""

    line: int
    item: Item
    part: Part
    spot: Spot


def ask_where_it_lies(act: Act, coming: Sequence[Coming], word: str) -> None:
    """Each thing suits its place, or the person says in words why it lies there all the same; the words are kept with what was asked.

    Three queries, none where no part that comes says anything of its storage. Raises ManyErrors "storage-unsuitable" by line.
    """
    there = [one for one in coming if one.spot.place.kind in STORES]
    needs = {one.part.pk: needs_of(one.part) for one in there}
    if not any(its != Needs() for its in needs.values()):
        return
    offers = offers_at(one.spot for one in there)
    places = {one.spot.place_id for one in there}
    beside = {place: {part.pk: part for part in parts} for place, parts in lying_at(places).items()}
    errors, words = [], []
    for one in there:
        mine = beside.setdefault(one.spot.place_id, {})
        others = [(part.number, needs_of(part)) for part in mine.values() if part.pk != one.part.pk]
        questions = asked(needs[one.part.pk], offers[one.spot.pk], others)
        mine[one.part.pk] = one.part
        if questions and word.strip():
            words.append(StorageWord(act=act, item=one.item, spot=one.spot, asked=list(questions), word=word))
        elif questions:
            errors.append((one.line, _unsuitable(one, questions)))
    if errors:
        raise ManyErrors(tuple(errors))
    StorageWord.objects.bulk_create(words)


def _unsuitable(one: Coming, questions: Sequence[str]) -> DomainError:
    return DomainError(
        "storage-unsuitable",
        f"{one.part.number} at {one.spot.place.code}: {'; '.join(questions)}.",
        ways_out=(
            "Put it where it suits.",
            "Say what the place offers.",
            "Say in storage_word why it lies there all the same.",
        ),
        part=one.part.number,
        place=one.spot.place.code,
        asked=list(questions),
    )
