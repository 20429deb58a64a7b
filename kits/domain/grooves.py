"""Grooves of an engine family as its facts state them: which ring sits in which groove."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.groove import Groove
from inventory.domain.quantities import read_amount
from inventory.domain.text import shown
from inventory.domain.units import Dimension

_MEASURES = ("groove_diameter", "bore", "width")


def grooves_of(facts: Mapping[str, Any]) -> tuple[tuple[str, Groove], ...]:
    """(part number, groove) of every row of `grooves`: part, groove_diameter, bore, width, each of the three with a
    `_tolerance` (plus and minus) where it is known, as texts with a unit.

    Error: `groove-unreadable`, naming what is wrong.
    """
    rows = facts.get("grooves", [])
    if not isinstance(rows, list) or not all(isinstance(row, Mapping) for row in rows):
        raise DomainError("groove-unreadable", "The grooves of the family are no list of objects.")
    return tuple((str(row.get("part", "")), _groove(row)) for row in rows)


def _groove(row: Mapping[str, Any]) -> Groove:
    part = shown(row.get("part", ""))
    middles = [_length(row, name, part) for name in _MEASURES]
    more = [_length(row, f"{name}_tolerance", part) if f"{name}_tolerance" in row else 0 for name in _MEASURES]
    return Groove(middles[0], middles[1], middles[2], more[0], more[1], more[2])


def _length(row: Mapping[str, Any], name: str, part: str) -> int:
    value = row.get(name)
    try:
        return read_amount(value if isinstance(value, str) else "", Dimension.LENGTH).amount
    except DomainError as error:
        raise DomainError(
            "groove-unreadable",
            f"The groove of {part}: {name} {shown(value)}: {error.message}.",
            part=part,
            field=name,
            value=shown(value),
        ) from error
