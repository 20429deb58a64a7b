"""Old numbers that a replacement notice leaves to other engines than the one at hand."""

from __future__ import annotations

from collections.abc import Collection

from inventory.queries.limited import below_only
from kits.domain.engine_numbers import EngineNumber, fits_number
from kits.models import Engine


def shut_out(engine: Engine, part_ids: Collection[int]) -> dict[int, str]:
    """Of these parts, those that notices shut out of an engine → the numbers that they are left to, in words.

    Of an engine that was changed in the field its number does not decide. Two queries, none for no part.
    """
    if engine.field_modified:
        return {}
    family = engine.family
    number = EngineNumber(family.prefix, engine.digits, family.width)
    found = {}
    for part, typed in below_only(part_ids).items():
        past = [f"below {one}" for one in typed if not fits_number(f"below {one}", number, family.width)]
        if past:
            found[part] = past[0]
    return found


def number_sentence(engine: Engine, part: str, numbers: str) -> str:
    """What the engine's number says of a part, in one sentence."""
    return f"{part} fits {numbers} only; this engine is {engine.number}."
