"""Rubber at its place: compounds that a position forbids, and what a part may be fitted with."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.rubber import Lubricant, Side, Verdict, allowed_at, lubricant_word, may_touch
from inventory.domain.text import shown
from inventory.models import Part
from kits.domain.engine_map import Position
from kits.domain.families import Family
from kits.models import JobHold
from kits.queries.job_list import JobList

#: Kinds of the parts list that are rubber by nature (common practice).
RUBBER_KINDS = frozenset({"o-ring", "seal", "lip seal", "stem seal"})


@dataclass(frozen=True, slots=True)
class Question:
    """One question ("side" or "lubricant") and its answer; `caution`: allowed, but a person should read the reason."""

    about: str
    allowed: bool
    caution: bool
    reason: str


@dataclass(frozen=True, slots=True)
class Decision:
    """May this rubber sit there, fitted with that? `line` is the whole answer in one line."""

    part: str
    compound: str
    allowed: bool
    caution: bool
    line: str
    questions: tuple[Question, ...]


def decide(part: Part, side: Side | None, hottest_mk: int | None, lubricant: str) -> Decision:
    """Judge a part for a side, for what it is fitted with, or both. DomainError "lubricant-unknown". At most one query."""
    answers: list[tuple[str, Verdict]] = []
    if side is not None:
        answers.append(("side", allowed_at(part.compound, side, hottest_mk=hottest_mk)))
    if lubricant:
        word = lubricants_of([lubricant])[lubricant]
        if word is None:
            raise lubricant_unknown(lubricant)
        answers.append(("lubricant", may_touch(part.compound, word)))
    questions = tuple(Question(about, one.allowed, one.caution, one.reason) for about, one in answers)
    allowed = all(one.allowed for one in questions)
    said = [one for one in questions if not one.allowed] or questions
    line = f"{'Allowed' if allowed else 'Not allowed'}: {' '.join(one.reason for one in said)}"
    return Decision(part.number, part.compound, allowed, any(one.caution for one in questions), line, questions)


def is_rubber(part: Part) -> bool:
    """A part of a kind that is made of rubber, or with a compound on record."""
    return bool(part.compound) or part.kind.lower() in RUBBER_KINDS


def lubricants_of(texts: Collection[str]) -> dict[str, Lubricant | None]:
    """What each text is to rubber: a word of the guide, or a part that is one; None where neither. At most one query."""
    words = {text: lubricant_word(text) for text in texts}
    numbers = [text for text, word in words.items() if word is None]
    rows = Part.objects.filter(number__in=numbers).exclude(lubricant="") if numbers else Part.objects.none()
    parts = {part.number: Lubricant(part.lubricant) for part in rows}
    return {text: word or parts.get(text) for text, word in words.items()}


def lubricant_unknown(text: str, position: str = "") -> DomainError:
    """The refusal of a lubricant that neither the guide nor the catalogue knows."""
    where = f"{position}: " if position else ""
    return DomainError(
        "lubricant-unknown",
        f'{where}"{shown(text)}" is no lubricant of the rubber guide, and no part that is said to be one.',
        ways_out=(f"Say one of {', '.join(Lubricant)}.", "Say in the catalogue what the part is to rubber."),
        lubricant=shown(text),
        **({"position": position} if position else {}),
    )


def wrong_rubber(listed: JobList) -> list[dict[str, Any]]:
    """Listed parts whose compound the fluid side of their position forbids, each with the reason."""
    places = {position.name: position for position in listed.scope.family.map.positions}
    found = []
    for line in listed.lines:
        part = listed.parts[line.part]
        for position, _ in line.keys:
            why = rubber_forbids(part, places[position])
            if why:
                found.append({"part": part.number, "position": position, "why": why})
                break
    return found


def rubber_forbids(part: Part, at: Position) -> str:
    """The reason why a part's compound may not sit at a position, for its fluid or its heat; empty when it may.

    A part of a kind that is made of rubber must have a compound on record where the map states a fluid or a heat; gaskets of paper or
    steel, and all hard parts, have none and pass. A compound that is on record is always asked.
    """
    if (at.side == "-" and at.hottest_mk is None) or not is_rubber(part):
        return ""
    answer = allowed_at(part.compound, at.side, hottest_mk=at.hottest_mk)
    known = part.compound or "of no known compound"
    return "" if answer.allowed else f"{part.number} is {known}: {answer.reason} ({at.name})"


def picked_wrong(family: Family, holds: Collection[int]) -> dict[int, str]:
    """Of open holds, those whose very part may not sit at a position that they serve → why. One query.

    What was promised in place of the listed part may be of another rubber, and the catalogue may have learned since what it is.
    """
    places = {position.name: position for position in family.map.positions}
    rows = JobHold.objects.filter(hold__in=holds).select_related("hold__item__part")
    found = {}
    for row in rows.only(
        "positions", "hold__item__part__number", "hold__item__part__kind", "hold__item__part__compound"
    ):
        whys = [rubber_forbids(row.hold.item.part, places[name]) for name, *_ in row.positions if name in places]
        why = next((one for one in whys if one), "")
        if why:
            found[row.hold_id] = why
    return found
