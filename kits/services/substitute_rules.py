"""What waits for the word of the engine's owner: everything that stands in for a listed part, when it is held, picked, handed over, and
fitted. Private to services: nothing is written.

It is asked again at each of these: the engine may have come under class, or its owner have said no, since the step before. What was
fitted by then stays.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date
from typing import NamedTuple

from kits.domain.requirements import Key
from kits.domain.serving import Promised
from kits.domain.substitute_words import Pair, not_agreed
from kits.models import Job, JobHold
from kits.queries.job_list import JobList, job_list
from kits.queries.substitute_words import Said, asked_pairs, listed_pairs, pairs_of, said_on

LISTED = "Wait for the listed part."
RELEASE = "Release the line, and hold the listed part."
RETURN = "Return it, and hold the listed part."
CHOSEN = "Where a person chose it, choose the listed part again first."


class Line(NamedTuple):
    """A line that is picked: what the list asks for, what is picked for it, and whether only the list of now says what that stands in
    for (a person chose it there, or it is one more)."""

    wanted: str
    part: str
    by_list: bool


def refuse_substitutes(listed: JobList, wants: Iterable[tuple[str, str, Iterable[Key]]], on: date) -> None:
    """On an engine under class, or inside its term, nothing is held instead of a listed part before its owner agreed to it.

    wants  (what the list asks for, what is held for it, where); another record of the same number is no other part
    No query where nothing is held instead of anything, one where the owner agreed or is not asked, else six at most.
    """
    pairs = {pair for wanted, part, keys in wants for pair in listed_pairs(listed, wanted, part, keys)}
    _refuse(listed, pairs, on, LISTED)


def refuse_asked_substitute(
    listed: JobList, part: str, joined: Collection[int], positions: Sequence[str], on: date
) -> None:
    """The same of one more; see `asked_pairs`."""
    _refuse(listed, asked_pairs(listed, part, joined, positions), on, LISTED)


def refuse_picking(job: Job, lines: Mapping[int, Line], on: date) -> None:
    """The same of lines that are picked, by their holds: those that may stand in for something. One query where the owner is not asked,
    or agreed to what stock put instead; the list where only that says what a line stands in for."""
    said = said_on(job) if lines else None
    if said is None or not said.may_be_asked:
        return
    pairs = {(one.wanted, one.part) for one in lines.values() if not one.by_list}
    unclear, listed = [hold for hold, one in lines.items() if one.by_list], None
    if unclear:
        listed = job_list(job, on, stock=False)
        rows = JobHold.objects.filter(pk__in=unclear).select_related("wanted", "hold__item__part")
        for row in rows:
            part = row.hold.item.part
            shares = [(share[0], share[1], share[2]) for share in row.positions]
            pairs |= pairs_of(listed, row.wanted.number, part.number, part.pk, shares)
    _refuse_by(said, pairs, on, RELEASE, listed)


def refuse_going(listed: JobList, promised: Iterable[Promised], going: Mapping[int, int], on: date) -> None:
    """The same of what goes to the bench (item → amount), by what it was picked for: where that is more than what was picked of it as
    what is listed. No query where nothing of it stands in for anything."""
    named = {line.part for line in listed.settled.lines if line.in_place_of}
    picked = [one for one in promised if one.item in going and not one.open]
    stands = [
        one
        for one in picked
        if one.part != one.wanted or one.wanted in named or not any(amount for _, _, amount in one.shares)
    ]
    mine = [
        one
        for one in stands
        if going[one.item] > sum(other.amount for other in picked if other.item == one.item and other not in stands)
    ]
    said = said_on(listed.job) if mine else None
    if said is None or not said.may_be_asked:
        return
    found = (pairs_of(listed, one.wanted, one.part, one.product[0], one.shares) for one in mine)
    _refuse_by(said, {pair for pairs in found for pair in pairs}, on, RETURN, listed)


def refused_by_owner(job: Job, pairs: Collection[Pair], on: date) -> set[Pair]:
    """Of these pairs those to which the owner said no, where the owner has to be asked. No query for none; one where nobody is asked."""
    left = said_on(job).lacking(pairs, on)[0] if pairs else {}
    return {pair for pair, no in left.items() if no}


def instead_of(listed: JobList, fittings: Iterable[tuple[Key, str]]) -> dict[tuple[Key, str], str]:
    """New parts that go in, (where, part), which are not what is listed there → what is."""
    lines = {line.key: line.in_place_of or line.part for line in listed.settled.lines}
    return {(key, part): lines[key] for key, part in fittings if lines.get(key, part) != part}


def refuse_fitting(listed: JobList, instead: Mapping[tuple[Key, str], str], on: date) -> None:
    """The same of new parts that go in, as `instead_of` finds them. No query where each is what is listed there."""
    _refuse(listed, {(first, part) for (_, part), first in instead.items()}, on, RETURN)


def _refuse(listed: JobList, pairs: Collection[Pair], on: date, otherwise: str) -> None:
    others = {pair for pair in pairs if pair[0] != pair[1]}
    if others:
        _refuse_by(said_on(listed.job), others, on, otherwise, listed)


def _refuse_by(said: Said, pairs: Collection[Pair], on: date, otherwise: str, listed: JobList | None) -> None:
    left, why = said.lacking(pairs, on)
    if not left:
        return
    chosen = {(line.in_place_of, line.part) for line in listed.settled.lines} if listed is not None else set()
    raise not_agreed(left, why, otherwise, *([] if chosen.isdisjoint(left) else [CHOSEN]))
