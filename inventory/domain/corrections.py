"""Which acts are taken back by reversing their movements, and what to do about the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.domain.errors import DomainError
from inventory.domain.places import PlaceKind

#: The kind of an act that says what was really fitted: what leaves an engine by it never was in it.
CORRECT_FITTING = "correct fitting"


@dataclass(frozen=True, slots=True)
class Written:
    """What an act wrote beside its header, as far as a correction cares.

    old_units       old units that it took in, whether it moved them or not; old_units_gone: of these, those that were sent back since
    by_word         it moves nothing, and whoever reads its rows leaves corrected ones out; instead: what to do where it is not
    rows            other rows of it that do not count once it is taken back: orders, promises, closings, claims, credits
    built_on        what was done since that rests on it, in words; "" for nothing
    """

    act_id: int
    kind: str
    movements: int
    is_correction: bool = False
    holds: int = 0
    hold_ends: int = 0
    stops: int = 0
    frees: int = 0
    set_breaks: int = 0
    old_units: int = 0
    old_units_gone: int = 0
    rows: int = 0
    built_on: str = ""
    corrected_by: int | None = None
    by_word: bool = False
    instead: str = ""


@dataclass(frozen=True, slots=True)
class Leg:
    """One movement by ids: so much of an item from a spot to a spot."""

    item_id: int
    amount: int
    from_spot_id: int
    to_spot_id: int


def never_in(act_kind: str, from_kind: str) -> bool:
    """Whether what a movement takes out of an engine never was in it, by the kinds of its act and of the place that it leaves."""
    return act_kind == CORRECT_FITTING and from_kind == PlaceKind.ENGINE


def check_correctable(act: Written) -> None:
    """DomainError "corrected-already" or "not-correctable", each with what to do instead."""
    if act.corrected_by is not None:
        raise DomainError(
            "corrected-already",
            f"Act {act.act_id} ({act.kind}) was corrected already, by act {act.corrected_by}.",
            act=act.act_id,
            corrected_by=act.corrected_by,
        )
    reason = _why_not(act)
    if reason is not None:
        why, way_out = reason
        raise DomainError(
            "not-correctable",
            f"Act {act.act_id} ({act.kind}) {why}.",
            ways_out=(way_out,),
            act=act.act_id,
            kind=act.kind,
        )


def _why_not(act: Written) -> tuple[str, str] | None:
    if act.is_correction:
        return "is a correction itself", "Do the act again."
    if act.set_breaks:
        return "broke a matched set, which stays broken", "Match what is left by measurement; that makes a new set."
    if act.stops:
        return "stopped a lot or an item", "Free it."
    if act.frees:
        return "freed a lot or an item", "Stop it again."
    if act.holds:
        return "holds stock for a job", "Release the holds."
    if act.old_units_gone:
        return "took in an old unit that was sent back since", "Take that back first."
    if not act.movements and act.hold_ends and not act.by_word:
        return "ended holds", "Hold again."
    if act.built_on:
        return f"cannot be taken back now: {act.built_on}", "Take that back first."
    if not act.movements and not act.old_units and not act.rows and not act.by_word:
        return "moved nothing", act.instead or "Say it anew: the newest word counts."
    return None


def reversal(legs: Sequence[Leg]) -> list[list[Leg]]:
    """The reversed legs, last first, in batches: a batch never takes out what it itself brings in.

    An act that carried a thing on in two legs (A to B, B to C) is taken back in two batches; most acts need one.
    """
    batches: list[list[Leg]] = [[]]
    brought: set[tuple[int, int]] = set()
    for leg in reversed(legs):
        back = Leg(leg.item_id, leg.amount, leg.to_spot_id, leg.from_spot_id)
        if (back.item_id, back.from_spot_id) in brought:
            batches.append([])
            brought = set()
        batches[-1].append(back)
        brought.add((back.item_id, back.to_spot_id))
    return [batch for batch in batches if batch]
