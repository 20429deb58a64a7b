"""Checks with a photo that another person makes before something closes over what is looked at: which half has the groove, which way a
thrust face looks.

What such a check asks, where, and before what, is a fact of the family from its maker's manual, which overrides every default. A half
without its groove on the oil hole, or a thrust washer the wrong way round, is not seen once the cap is on (common practice).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from kits.domain.engine_map import EngineMap
from kits.domain.fact_values import positions
from kits.domain.reading import LONGEST_NAME, Reader

_KEYS = frozenset({"what", "at", "before", "from"})


@dataclass(frozen=True, slots=True)
class PhotoCheck:
    """What is looked at, at which use positions, and which positions are closed only after it; `before` empty: only the job's end waits."""

    what: str
    positions: frozenset[str]
    before: frozenset[str]
    source: str

    def holds_up(self, position: str) -> frozenset[str]:
        """The positions that are looked at before this one is closed: those of its own group, where it has any; else all."""
        if position not in self.before:
            return frozenset()
        group = position.partition("/")[0]
        return frozenset(one for one in self.positions if one.partition("/")[0] == group) or self.positions


def read_photo_checks(facts: Mapping[str, Any], engine_map: EngineMap, reader: Reader) -> tuple[PhotoCheck, ...]:
    """The fact `photo_checks`; problems go to `reader`."""
    found: list[PhotoCheck] = []
    for number, row in enumerate(reader.listing(facts, "photo_checks", "facts"), 1):
        where = f"photo_checks {number}"
        entry = reader.mapping(row, where, _KEYS)
        what = reader.text(entry, "what", where, longest=LONGEST_NAME)
        at = frozenset(positions(entry, "at", where, engine_map, reader))
        before = frozenset(positions(entry, "before", where, engine_map, reader) if "before" in entry else ())
        if what in {one.what for one in found}:
            reader.problem(where, f"{what[:60]!r} stands twice")
        if at & before:
            reader.problem(where, f"{min(at & before)} is looked at and closed by itself")
        found.append(PhotoCheck(what, at, before, reader.text(entry, "from", where)))
    return tuple(found)


def open_checks(
    checks: Iterable[PhotoCheck], fitted: Collection[str], seen: Collection[tuple[str, str]]
) -> list[tuple[PhotoCheck, str]]:
    """(check, position) of what was fitted and nobody else has seen good since; seen  (what, position)."""
    return [
        (check, position)
        for check in checks
        for position in sorted(check.positions & set(fitted))
        if (check.what, position) not in seen
    ]


def held_up(missing: Iterable[tuple[PhotoCheck, str]], position: str) -> list[tuple[PhotoCheck, str]]:
    """Of the open checks those that come before a position is closed."""
    return [(check, place) for check, place in missing if place in check.holds_up(position)]
