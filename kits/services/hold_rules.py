"""What keeps a list from being held. Private to services: nothing is written."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from datetime import date

from inventory.domain.companions import Alone
from inventory.domain.errors import DomainError
from inventory.domain.money import format_money
from inventory.models import Part
from inventory.queries.joins import records_of
from inventory.queries.replacements import joined_parts
from kits.domain.extra_work import Spending
from kits.domain.requirements import Key
from kits.domain.substitute_words import Pair, refuse_not_agreed
from kits.models import Job
from kits.queries.by_notice import number_sentence
from kits.queries.companions import Asked, Swap, alone_on
from kits.queries.extra_work import extra_of, said, spending_of, without_limited
from kits.queries.job_list import JobList
from kits.queries.served import promised_of
from kits.queries.substitute_words import owner_asked, words_on
from kits.queries.why_not import by_number


def refuse_unready(listed: JobList) -> None:
    """A list on which a person has to decide something, or that asks for nothing, is not held."""
    waiting = [one for one in listed.conflicts if one.needs_person]
    if waiting:
        raise DomainError(
            "list-not-ready",
            "A person has to decide first: " + "; ".join(one.detail for one in waiting),
            conflicts=[{"position": one.position, "detail": one.detail, "parts": list(one.parts)} for one in waiting],
        )
    if not listed.lines and not listed.settled.open_choices:
        raise DomainError(
            "list-empty",
            "The list is empty: "
            + ("; ".join(why for _, why in listed.explosion.empty_operations) or "nothing is asked for."),
        )


def refuse_over_limit(listed: JobList, wanted: Iterable[tuple[Key, str]]) -> None:
    """Parts of extra work are held only inside the sum that the owner named; the booked scope goes on meanwhile."""
    if not listed.scope.limited:
        return
    booked = without_limited(listed)
    spent = spending_of(listed, booked)
    extra = extra_of(listed, booked)
    if spent.over and not extra.isdisjoint(wanted):
        raise _over_limit(spent, "Hold the steps of the booked scope.")


def refuse_asked_over_limit(listed: JobList, part: Part, amount: int) -> None:
    """One more that was found after strip is extra work: it stays inside the sum that the owner named, where there is one."""
    if listed.scope.limited and (spent := spending_of(listed, asked={part: amount})).over:
        raise _over_limit(spent, "Where it was damaged, dropped or lost here, say so: the owner does not pay for it.")


def _over_limit(spent: Spending, otherwise: str) -> DomainError:
    return DomainError(
        "over-limit",
        f"The extra work comes to {format_money(spent.used_coins)}; the owner agreed to"
        f" {format_money(spent.limit_coins or 0)}.",
        ways_out=("Ask the owner, and record the new word.", otherwise),
        **said(spent),
    )


def refuse_alone(listed: JobList, joined: set[int], swaps: Iterable[Swap] = (), asked: Asked | None = None) -> None:
    """No list is released, and nothing beside it, on which a part lacks the companion that the notice of its replacement names.

    asked   one more of a part, beside the list: only what that part goes with is judged
    """
    known = joined | {part.pk for part in listed.parts.values()}
    found = alone_on(listed, promised_of(listed.job), known, swaps, asked)
    if asked is not None:
        found = tuple(one for one in found if one.rule.part == asked[0])
    _refuse(found)


def refuse_going_alone(listed: JobList, part_ids: Collection[int]) -> None:
    """Nothing goes to the bench or into the engine that by now lacks its companion: since the hold a line may have been answered, or a
    part taken back.

    part_ids  what goes; of the rest of the list nothing is asked here
    Two queries; two more where a notice names a companion of it.
    """
    _refuse(alone_on(listed, None, {*part_ids, *joined_parts(part_ids)}))


def _refuse(found: Sequence[Alone]) -> None:
    if found:
        raise DomainError(
            "companion-missing",
            "; ".join(one.sentence for one in found) + ".",
            ways_out=found[0].pairs,
            companions=[
                {
                    "part": one.rule.part,
                    "needs": one.rule.needs,
                    "pieces": one.rule.pieces,
                    "there": one.there,
                    "bank": one.bank,
                }
                for one in found
            ],
        )


def refuse_substitutes(
    listed: JobList, wants: Iterable[tuple[Part, Part, Sequence[tuple[str, int, int]]]], on: date
) -> None:
    """On an engine under class, or inside its term, nothing is held instead of a listed part before its owner agreed to it.

    wants  (what the list asks for, what is held for it, its shares); another record of the same number is no other part
    No query where nothing is held instead of anything, else seven at most.
    """
    named = {(line.key, line.part): line.in_place_of for line in listed.settled.lines if line.in_place_of}
    pairs = set()
    for wanted, part, shares in wants:
        first = {named.get((share[:2], wanted.number), wanted.number) for share in shares}
        instead = wanted if part.pk != wanted.pk and part.pk in records_of([wanted.pk]) else part
        pairs |= {(number, instead.number) for number in first if number != instead.number}
    _refuse_not_agreed(listed.job, pairs, on)


def refuse_asked_substitute(
    listed: JobList, part: Part, joined: Collection[int], positions: Sequence[str], on: date
) -> None:
    """The same of one more, which is asked for outside the list.

    joined  parts that notices join with it
    """
    lines = [line for line in listed.settled.lines if not positions or line.position in positions]
    if any(line.part == part.number and not line.in_place_of for line in lines):
        return
    others = {line.in_place_of or line.part for line in lines if line.part == part.number}
    if not others and joined:
        near = {listed.parts[line.part] for line in lines}
        same = records_of([part.pk])
        others = {one.number for one in near if one.pk in joined and one.pk not in same}
    _refuse_not_agreed(listed.job, {(other, part.number) for other in others}, on)


def _refuse_not_agreed(job: Job, pairs: Collection[Pair], on: date) -> None:
    if pairs and (why := owner_asked(job.engine, on)):
        refuse_not_agreed(pairs, words_on(job), why)


def refuse_other_engine(listed: JobList, part: Part) -> None:
    """One more of a part is not brought to an engine whose number a parts line or a replacement notice rules out for it.

    Of an engine that was changed in the field its number does not decide.
    """
    if numbers := by_number(listed, part):
        raise DomainError(
            "not-for-engine",
            number_sentence(listed.job.engine, part.number, numbers),
            ways_out=("Ask for what replaces it.",),
            part=part.number,
            numbers=numbers,
        )
