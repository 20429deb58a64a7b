"""What replacement notices say of one engine: old numbers that are left to others, and parts that stand in for listed ones."""

from __future__ import annotations

from collections.abc import Collection
from fractions import Fraction

from inventory.domain.supersession import routes
from inventory.models import Part
from inventory.queries.limited import below_only
from inventory.queries.replacements import links_of
from kits.domain.engine_numbers import EngineNumber, fits_number
from kits.models import Engine
from kits.queries.unread_numbers import unread_why, widths

#: Said of a number of a notice that is no engine's.
_UNREAD = " (which no engine family on record has: withdraw the notice, and enter it with the right number)"


def shut_out(engine: Engine, part_ids: Collection[int]) -> dict[int, str]:
    """Of these parts, those that notices shut out of an engine → the numbers that they are left to, in words.

    A number that no family on record has shuts its part out of every engine, and is said to be none. Of an engine that was changed in
    the field its number does not decide. Two queries, none for no part; one more where anything is shut out.
    """
    if engine.field_modified:
        return {}
    family = engine.family
    number = EngineNumber(family.prefix, engine.digits, family.width)
    found = {}
    for part, typed in below_only(part_ids).items():
        past = [one for one in typed if not fits_number(f"below {one}", number, family.width)]
        if past:
            found[part] = past[0]
    known = widths() if found else {}
    return {part: f"below {typed}{_UNREAD if unread_why(typed, known) else ''}" for part, typed in found.items()}


def stands_in(engine: Engine, listed: str, part: Part) -> Fraction | None:
    """How many of a part one of the listed part becomes on an engine, by the notices on record; None where it does not stand in alone.

    Of an engine that was changed in the field its number does not decide. One query for each step of the longest chain of notices.
    """
    family = engine.family
    number = EngineNumber(family.prefix, engine.digits, family.width)
    ways = routes(
        listed,
        1,
        links_of([part.pk]),
        {},
        fits=lambda key: engine.field_modified or fits_number(key, number, family.width),
    )
    alone = [way.leaves[0] for way in ways if len(way.leaves) == 1]
    return next((ratio for name, ratio in alone if name == part.number), None)


def number_sentence(engine: Engine, part: str, numbers: str) -> str:
    """What the engine's number says of a part, in one sentence."""
    return f"{part} fits {numbers} only; this engine is {engine.number}."
