"""What keeps a list from being held. Private to services: nothing is written."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from inventory.domain.companions import Alone
from inventory.domain.errors import DomainError
from inventory.domain.money import format_money
from inventory.models import Part
from inventory.queries.replacements import joined_parts
from kits.domain.extra_work import Spending
from kits.domain.requirements import Key
from kits.queries.by_notice import number_sentence
from kits.queries.companions import Asked, Swap, alone_on
from kits.queries.extra_work import extra_of, said, spending_of, without_limited
from kits.queries.job_list import JobList
from kits.queries.served import promised_of
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
