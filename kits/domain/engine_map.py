"""The map of an engine family: every place where a part can sit, and which place holds which.

A use position reads `GROUP[-number]/name[-number]` (`CYL-2/base-ring`, `HEAD/bolt-07`). Findings happen at a finding place:
ENGINE, `BANK-LEFT`, `CYL-2`, `VALVE-03`, `MAIN-4`, or a use position itself. ENGINE holds the banks, a bank its cylinders, a
cylinder its valves; ENGINE holds the mains; each holds the positions of its groups. Numbers are padded with zeros to the
width of the highest number of their series, so that names sort as they count.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.quantities import read_amount
from inventory.domain.units import Dimension
from kits.domain.reading import Reader

ENGINE = "ENGINE"
#: From the widest to the narrowest, but main, which stands beside bank, cylinder and valve.
SCOPES = ("engine", "bank", "cylinder", "valve", "main", "position")
_PREFIX = {"bank": "BANK", "cylinder": "CYL", "valve": "VALVE", "main": "MAIN"}
#: The single bank of an engine that has only one: its places are not used, scope engine serves.
ONE_BANK = "-"

_GROUP = re.compile(r"[A-Z][A-Z0-9]{0,20}(?:-[A-Z][A-Z0-9]{0,20}){0,5}")
_NAME = re.compile(r"[a-z][a-z0-9]{0,20}(?:-[a-z][a-z0-9]{0,20}){0,7}")
_MOST = 999
_MOST_POSITIONS = 20_000

_MAP_KEYS = frozenset({"banks", "valves_per_cylinder", "mains", "groups", "numbering_end", "front", "numbering_note"})


@dataclass(frozen=True, slots=True)
class Position:
    """One use position. `holder` is the finding place that holds it; `side` the fluid side of its rubber, `-` for none; `hottest_mk`
    the hottest that it gets, None: not stated."""

    name: str
    group: str
    number: int | None
    bank: str | None
    member: str
    series: int | None
    side: str
    holder: str
    hottest_mk: int | None = None


@dataclass(frozen=True, slots=True)
class EngineMap:
    """The map of one family. Build it with `parse_engine_map`; all tuples are in map order."""

    numbering_end: str
    front: str
    numbering_note: str
    banks: tuple[tuple[str, tuple[int, ...]], ...]
    valves_per_cylinder: int
    mains: int
    positions: tuple[Position, ...]
    _outward: Mapping[str, tuple[str, ...]] = field(repr=False)
    _scope: Mapping[str, str] = field(repr=False)
    _order: Mapping[str, int] = field(repr=False)
    _by_name: Mapping[str, Position] = field(repr=False)

    def position(self, name: str) -> Position:
        """The position of that name. DomainError `position-unknown` otherwise."""
        found = self._by_name.get(name)
        if found is None:
            raise self._unknown(name)
        return found

    @staticmethod
    def _unknown(name: str) -> DomainError:
        return DomainError(
            "position-unknown",
            f"{name[:80]!r} is not a place of this engine family.",
            ways_out=("look the place up on the family's map",),
            position=name[:80],
        )

    def is_position(self, name: str) -> bool:
        """Whether the map has that use position."""
        return name in self._by_name

    def scope_of(self, place: str) -> str | None:
        """Scope of a finding place, None where the engine has no such place."""
        return self._scope.get(place)

    def places(self, scope: str) -> tuple[str, ...]:
        """All finding places of a scope, in map order."""
        return tuple(place for place, its in self._scope.items() if its == scope)

    def order(self, place: str) -> int:
        """Rank of a place or position in map order, for sorting."""
        return self._order[place]

    def outward(self, place: str) -> tuple[str, ...]:
        """The place itself and all that hold it, from the narrowest to ENGINE. DomainError `position-unknown` otherwise."""
        chain = self._outward.get(place)
        if chain is None:
            raise self._unknown(place)
        return chain

    def contains(self, outer: str, inner: str) -> bool:
        """Whether `outer` is `inner` or holds it."""
        return outer in self.outward(inner)

    def comparable(self, one: str, other: str) -> bool:
        """Whether places of scope `one` hold places of scope `other` or the other way round (a main and a valve do not)."""
        return one == other or self._wider(one, other) or self._wider(other, one)

    @staticmethod
    def _wider(one: str, other: str) -> bool:
        if one == "main":
            return other == "position"
        return SCOPES.index(one) < SCOPES.index(other) and (other != "main" or one == "engine")

    def project(self, place: str, scope: str) -> tuple[str, ...]:
        """Places of `scope` that a finding at `place` reaches: all that it holds, else the one that holds it."""
        chain = self.outward(place)
        for held_by in chain:
            if self._scope[held_by] == scope:
                return (held_by,)
        return tuple(other for other in self.places(scope) if place in self._outward[other])

    def expand(self, pattern: str | Iterable[str]) -> tuple[str, ...]:
        """Positions of a pattern or a list of patterns, each once, in map order.

        `*` stands for the number of a group or of a name, or for the bank of a group (`HEAD-*/bolt-07`).
        DomainError `position-unknown` names a pattern that fits nothing.
        """
        patterns = [pattern] if isinstance(pattern, str) else list(pattern)
        found: set[str] = set()
        for one in patterns:
            hits = [self._by_name[one]] if one in self._by_name else self._matching(one)
            if not hits:
                raise self._unknown(one)
            found.update(position.name for position in hits)
        return tuple(sorted(found, key=self._order.__getitem__))

    def _matching(self, pattern: str) -> list[Position]:
        group, slash, member = pattern.partition("/")
        if not slash:
            return []
        return [
            position for position in self.positions if _group_fits(position, group) and _member_fits(position, member)
        ]


def _group_fits(position: Position, pattern: str) -> bool:
    if not pattern.endswith("-*"):
        return position.name.partition("/")[0] == pattern
    stem = pattern[:-2]
    if position.number is not None:
        return position.group == stem
    return position.bank is not None and position.group == f"{stem}-{position.bank}"


def _member_fits(position: Position, pattern: str) -> bool:
    if not pattern.endswith("-*"):
        return position.name.partition("/")[2] == pattern
    return position.series is not None and position.member == pattern[:-2]


def parse_engine_map(document: Mapping[str, Any]) -> EngineMap:
    """Read the map of a family document. DomainError `family-unusable` names every problem."""
    reader = Reader()
    engine_map = read_engine_map({key: value for key, value in document.items() if key in _MAP_KEYS}, reader)
    reader.refuse("family-unusable", "The engine family cannot be used")
    return engine_map


def read_engine_map(document: Mapping[str, Any], reader: Reader) -> EngineMap:
    """As `parse_engine_map`, for a caller that collects the problems of a wider document."""
    end = document.get("numbering_end")
    if not isinstance(end, str) or not end.strip():
        reader.problem("numbering_end", "not stated at which end No. 1 is: the family cannot be used")
        end = ""
    banks = _read_banks(document, reader)
    valves = reader.whole(document, "valves_per_cylinder", "valves_per_cylinder", low=0, high=12)
    mains = reader.whole(document, "mains", "mains", low=0, high=40)
    outward, scope = _finding_places(banks, valves, mains)
    positions: list[Position] = []
    for index, entry in enumerate(reader.listing(document, "groups", "groups", required=True), start=1):
        positions.extend(_read_group(entry, f"group {index}", banks, valves, mains, reader))
    by_name: dict[str, Position] = {}
    for position in positions:
        if position.name in by_name:
            reader.problem(position.name, "stands on the map twice")
        elif position.holder in outward:
            by_name[position.name] = position
            outward[position.name] = (position.name, *outward[position.holder])
            scope[position.name] = "position"
    return EngineMap(
        numbering_end=end,
        front=reader.text(document, "front", "front", ""),
        numbering_note=reader.text(document, "numbering_note", "numbering_note", ""),
        banks=banks,
        valves_per_cylinder=valves,
        mains=mains,
        positions=tuple(by_name.values()),
        _outward=outward,
        _scope=scope,
        _order={place: rank for rank, place in enumerate(scope)},
        _by_name=by_name,
    )


def _padded(number: int, highest: int) -> str:
    return str(number).zfill(len(str(highest)))


def _read_banks(document: Mapping[str, Any], reader: Reader) -> tuple[tuple[str, tuple[int, ...]], ...]:
    banks: list[tuple[str, tuple[int, ...]]] = []
    for index, entry in enumerate(reader.listing(document, "banks", "banks", required=True), start=1):
        where = f"bank {index}"
        bank = reader.mapping(entry, where, frozenset({"name", "cylinders"}))
        name = reader.text(bank, "name", where)
        if name != ONE_BANK and not re.fullmatch(r"[A-Z][A-Z0-9]{0,20}", name):
            reader.problem(where, f"the name {name[:40]!r} must be in upper case, or - for the only bank")
        numbers = reader.listing(bank, "cylinders", where, required=True)
        if not all(isinstance(n, int) and not isinstance(n, bool) and 1 <= n <= _MOST for n in numbers):
            reader.problem(where, "cylinders must be whole numbers from 1")
            continue
        banks.append((name, tuple(numbers)))
    names = [name for name, _ in banks]
    if len(set(names)) < len(names) or (ONE_BANK in names and len(names) > 1):
        reader.problem("banks", "each bank needs a name of its own; - is for the only bank")
    numbers = sorted(number for _, cylinders in banks for number in cylinders)
    if numbers != list(range(1, len(numbers) + 1)):
        reader.problem("banks", "the cylinders of all banks together must count from 1 without a gap, each once")
    return tuple(banks)


def _finding_places(
    banks: tuple[tuple[str, tuple[int, ...]], ...], valves: int, mains: int
) -> tuple[dict[str, tuple[str, ...]], dict[str, str]]:
    """Each place with the chain outward, and with its scope; in map order."""
    outward: dict[str, tuple[str, ...]] = {ENGINE: (ENGINE,)}
    scope = {ENGINE: "engine"}
    cylinders = sorted((number, bank) for bank, numbers in banks for number in numbers)
    for bank, _ in banks:
        if bank != ONE_BANK:
            outward[f"BANK-{bank}"] = (f"BANK-{bank}", ENGINE)
            scope[f"BANK-{bank}"] = "bank"
    for number, bank in cylinders:
        name = f"CYL-{_padded(number, len(cylinders))}"
        outward[name] = (name, *outward[ENGINE if bank == ONE_BANK else f"BANK-{bank}"])
        scope[name] = "cylinder"
    for valve in range(1, valves * len(cylinders) + 1):
        name = f"VALVE-{_padded(valve, valves * len(cylinders))}"
        cylinder = f"CYL-{_padded((valve - 1) // valves + 1, len(cylinders))}"
        outward[name] = (name, *outward.get(cylinder, (ENGINE,)))
        scope[name] = "valve"
    for main in range(1, mains + 1):
        name = f"MAIN-{_padded(main, mains)}"
        outward[name] = (name, ENGINE)
        scope[name] = "main"
    return outward, scope


_GROUP_KEYS = frozenset({"group", "scope", "bank", "first", "last", "names"})
_NAME_KEYS = frozenset({"name", "series", "side", "hottest"})
_SIDES = ("-", "oil", "coolant", "both")


def _read_group(
    entry: object,
    where: str,
    banks: tuple[tuple[str, tuple[int, ...]], ...],
    valves: int,
    mains: int,
    reader: Reader,
) -> list[Position]:
    """The positions of one entry of `groups`, number by number, name by name."""
    group = reader.mapping(entry, where, _GROUP_KEYS)
    code = reader.text(group, "group", where)
    where = code or where
    if not _GROUP.fullmatch(code):
        reader.problem(where, "a group is written in upper case with dashes and does not end in a number")
        return []
    scope = reader.one_of(group, "scope", where, SCOPES[:-1])
    bank = group.get("bank")
    bank_names = tuple(name for name, _ in banks if name != ONE_BANK)
    if scope == "bank" and (bank not in bank_names or not code.endswith(f"-{bank}")):
        reader.problem(where, "a group of scope bank names a bank of this engine and ends in -BANK")
        return []
    if scope != "bank" and bank is not None:
        reader.problem(where, f"scope {scope} takes no bank")
    count = sum(len(numbers) for _, numbers in banks)
    highest = {"cylinder": count, "valve": valves * count, "main": mains}.get(scope)
    if highest is None:
        if "first" in group or "last" in group:
            reader.problem(where, f"a group of scope {scope} has no numbers: leave out first and last")
        numbers: list[int | None] = [None]
        last = 0
    else:
        first = reader.whole(group, "first", where, low=1, high=_MOST)
        last = reader.whole(group, "last", where, low=first, high=_MOST)
        if last > highest:
            reader.problem(where, f"counts to {last}, the engine has {highest} places of scope {scope}")
            return []
        numbers = list(range(first, last + 1))
    members = [
        member
        for index, name in enumerate(reader.listing(group, "names", where, required=True), start=1)
        for member in _read_member(name, f"{where} name {index}", reader)
    ]
    if len(members) * len(numbers) > _MOST_POSITIONS:
        reader.problem(where, f"more than {_MOST_POSITIONS} positions")
        return []
    made = []
    for number in numbers:
        head = code if number is None else f"{code}-{_padded(number, last)}"
        holder = _holder(scope, number, bank if scope == "bank" else None, highest or 0)
        for member, series, tail, side, hottest_mk in members:
            name, its_bank = f"{head}/{tail}", bank if scope == "bank" else None
            made.append(Position(name, code, number, its_bank, member, series, side, holder, hottest_mk))
    return made


def _holder(scope: str, number: int | None, bank: str | None, highest: int) -> str:
    if number is not None:
        return f"{_PREFIX[scope]}-{_padded(number, highest)}"
    return ENGINE if bank is None else f"BANK-{bank}"


def _read_hottest(name: Mapping[str, Any], where: str, reader: Reader) -> int | None:
    """The hottest that a position gets, in millikelvin; None where nothing is stated."""
    typed = reader.text(name, "hottest", where, "")
    try:
        return read_amount(typed, Dimension.TEMPERATURE).amount if typed else None
    except DomainError as error:
        reader.problem(where, f"'hottest': {error.message}")
        return None


def _read_member(entry: object, where: str, reader: Reader) -> list[tuple[str, int | None, str, str, int | None]]:
    """(name, number in its series or None, name as written, fluid side, hottest) for one entry of `names`."""
    name = reader.mapping(entry, where, _NAME_KEYS)
    code = reader.text(name, "name", where)
    if not _NAME.fullmatch(code):
        reader.problem(
            where, f"the name {code[:60]!r} is written in lower case with dashes and does not end in a number"
        )
        return []
    side = reader.one_of(name, "side", where, _SIDES, "-")
    hottest_mk = _read_hottest(name, where, reader)
    series = name.get("series")
    if series is None:
        return [(code, None, code, side, hottest_mk)]
    if (
        not isinstance(series, list)
        or len(series) != 2
        or not all(isinstance(n, int) and not isinstance(n, bool) for n in series)
        or not 1 <= series[0] <= series[1] <= _MOST
    ):
        reader.problem(where, "'series' must be two whole numbers, the first and the last")
        return []
    first, last = series
    return [(code, n, f"{code}-{_padded(n, last)}", side, hottest_mk) for n in range(first, last + 1)]
