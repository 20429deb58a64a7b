"""What may become part of a matched set again, after sets were broken. Pure.

A liner, a piston and its pin that lie in quarantine: good members of broken sets of the same part, or single parts with a serial of their
own. Nothing that ever was in an engine: a set made of it would be stock, and what was in an engine is never stock again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.domain.articles import a
from inventory.domain.errors import DomainError, ManyErrors
from inventory.domain.items import Member, Tracked

WAYS = ("Scrap it.", "Give it back to the owner.")


@dataclass(frozen=True, slots=True)
class Candidate:
    """A thing that is to be a member.

    wanted        what it is to be
    label         as a person is told
    is_member     what it is of a broken set; WHOLE: it is none
    same_part     it is of the set's part
    tracked       how its part is told apart
    place         code of the quarantine place where it lies, "" where it lies in none
    was_in_engine it, or the set that it came from, was in an engine
    stopped       it, or the set that it came from, is stopped
    """

    wanted: Member
    label: str
    is_member: Member
    same_part: bool
    tracked: Tracked
    place: str
    was_in_engine: bool
    stopped: bool


def check_members(candidates: Sequence[Candidate]) -> None:
    """ManyErrors names every thing that cannot be what it is to be: "match-member-wrong", "not-there", "was-in-engine", "stopped";
    "half-a-set" where liner or piston is not there, or a piston from a broken set has no pin; "wrong-place" where they lie apart."""
    errors = [(number, error) for number, one in enumerate(candidates, 1) if (error := _problem(one)) is not None]
    if errors:
        raise ManyErrors(tuple(errors))
    there = {one.wanted: one for one in candidates}
    lacking = [member.value for member in (Member.LINER, Member.PISTON) if member not in there]
    if not lacking and there[Member.PISTON].is_member is Member.PISTON and Member.PIN not in there:
        lacking = [Member.PIN.value]
    if lacking:
        raise DomainError("half-a-set", f"A set has {' and '.join(a(one) for one in lacking)} too.", missing=lacking)
    places = sorted({one.place for one in candidates})
    if len(places) > 1:
        raise DomainError(
            "wrong-place",
            f"They lie in {' and '.join(places)}.",
            ways_out=("Bring them into one quarantine place first.",),
            places=places,
        )


def _problem(one: Candidate) -> DomainError | None:
    if (why := _no_member(one)) is not None:
        return DomainError(
            "match-member-wrong", f"{one.label} cannot be the {one.wanted.value} of a set: {why}.", item=one.label
        )
    if not one.place:
        return DomainError("not-there", f"{one.label} does not lie in quarantine.", item=one.label)
    if one.was_in_engine:
        return DomainError(
            "was-in-engine",
            f"{one.label} was in an engine: no set for the shelf is made of it.",
            ways_out=WAYS,
            item=one.label,
        )
    if one.stopped:
        return DomainError(
            "stopped", f"{one.label} is stopped: it is not matched again until it is freed.", item=one.label
        )
    return None


def _no_member(one: Candidate) -> str | None:
    if one.is_member is not Member.WHOLE:
        if one.is_member is not one.wanted:
            return f"it is the {one.is_member.value} of a broken set"
        return None if one.same_part else "it comes from a set of another part"
    if one.tracked is Tracked.SET:
        return "it is a whole set"
    return (
        None if one.tracked is Tracked.SERIAL else "it has no serial number, so nobody could say which one was measured"
    )


def check_core_value(value_coins: int | None, most: int) -> None:
    """DomainError "amount-not-positive", "amount-too-large": a core is worth something, or, by None, nothing."""
    if value_coins is not None and value_coins <= 0:
        raise DomainError("amount-not-positive", "A core is worth more than nothing, or say that it has no value.")
    if value_coins is not None and value_coins > most:
        raise DomainError("amount-too-large", f"{value_coins} coins are more than any core is worth.")
