"""Kinds that are never mixed on one engine or one bank, checked on a finished list and again at hand-over.

Replacements are applied after the choices of a list, so a list that was alike may be mixed again by what stock had to give; and
what stays fitted in the engine counts with it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from kits.domain.engine_map import ENGINE, EngineMap
from kits.domain.requirements import Conflict


@dataclass(frozen=True, slots=True)
class NoMix:
    """Kinds of which only one may sit in the whole engine (scope `engine`) or in one bank (scope `bank`).

    Each kind is the set of part numbers that may be mixed among themselves.
    """

    kinds: tuple[frozenset[str], ...]
    scope: str
    text: str


def mixed(engine_map: EngineMap, sits_at: Mapping[str, str], rules: Iterable[NoMix]) -> tuple[Conflict, ...]:
    """Every rule that is broken, once for each place; it stands at the first position of the kind with the fewest positions.

    sits_at  position → part: what the list puts there, and for all other positions what stays fitted as far as known
    """
    conflicts = []
    for rule in rules:
        there: dict[str, dict[int, list[str]]] = {}
        for position in sorted(sits_at, key=engine_map.order):
            for number, kind in enumerate(rule.kinds):
                if sits_at[position] in kind:
                    place = _place(engine_map, position, rule.scope)
                    there.setdefault(place, {}).setdefault(number, []).append(position)
        for place, by_kind in there.items():
            if len(by_kind) > 1:
                fewest = min(by_kind.values(), key=lambda positions: (len(positions), engine_map.order(positions[0])))
                counts = "; ".join(
                    f"{len(positions)} × {'/'.join(sorted({sits_at[one] for one in positions}))}"
                    for positions in by_kind.values()
                )
                parts = tuple(sorted({sits_at[one] for positions in by_kind.values() for one in positions}))
                conflicts.append(Conflict("not-alike", fewest[0], 1, f"{place}: {counts}; {rule.text}", parts, True))
    return tuple(conflicts)


def _place(engine_map: EngineMap, position: str, scope: str) -> str:
    if scope == "bank":
        return next((one for one in engine_map.outward(position) if engine_map.scope_of(one) == "bank"), ENGINE)
    return ENGINE
