"""Findings, the conditions that ask for them, and the rules by which one finding brings others.

Everything here only adds. A condition has no "not"; a rule never takes a finding away; so more findings can only make a
list longer, and the rules come to rest on any map because it has finitely many places.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.text import shown
from kits.domain.engine_map import ENGINE, SCOPES, EngineMap
from kits.domain.reading import Reader
from kits.domain.spans import spans

_DEEPEST = 6
_MOST_PARTS = 40


@dataclass(frozen=True, slots=True)
class FindingCode:
    """One entry of a family's closed list: what may be found, at places of which scope, and how it is said."""

    code: str
    scope: str
    text: str


@dataclass(frozen=True, slots=True, order=True)
class Finding:
    """A finding code that is true at a place of the engine."""

    code: str
    place: str


@dataclass(frozen=True, slots=True)
class Rule:
    """`source` brings every one of `targets`, because `text`; `joins` are operations that it brings onto the job."""

    source: str
    targets: tuple[str, ...]
    text: str
    joins: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Leaf:
    """True where the finding stands at the line's own place (or holds it), or with `anywhere` at any place."""

    code: str
    anywhere: bool


@dataclass(frozen=True, slots=True)
class Group:
    """All, or any, of the parts."""

    every: bool
    parts: tuple[Condition, ...]


Condition = Leaf | Group


@dataclass(frozen=True, slots=True)
class Origin:
    """Why a finding is true: recorded, brought by booking `operation`, or by rule from `source`. `depth` counts the rules."""

    depth: int
    operation: str = ""
    source: Finding | None = None
    rule_text: str = ""


@dataclass(frozen=True, slots=True)
class Closure:
    """All findings that are true, each with its origin; `codes` gives the texts. Build it with `close_findings`."""

    origins: Mapping[Finding, Origin]
    codes: Mapping[str, FindingCode] = field(repr=False)
    _places: Mapping[str, tuple[str, ...]] = field(repr=False)

    def __contains__(self, finding: Finding) -> bool:
        return finding in self.origins

    def with_record(self, finding: Finding) -> Closure:
        """The same and what the record of the engine says of it, of which nothing follows."""
        if finding in self.origins:
            return self
        origins = {**self.origins, finding: Origin(0, rule_text="by the record of the engine")}
        places = {**self._places, finding.code: (*self.places(finding.code), finding.place)}
        return Closure(origins, self.codes, places)

    def places(self, code: str) -> tuple[str, ...]:
        """Places where a code is true, in map order."""
        return self._places.get(code, ())

    def chain(self, finding: Finding) -> tuple[str, ...]:
        """The reasons in words, the first cause first; the shortest chain, ties in map order."""
        words: list[str] = []
        at: Finding | None = finding
        while at is not None:
            origin = self.origins[at]
            said = self.codes[at.code].text + ("" if at.place == ENGINE else f" ({at.place})")
            words.append(said + (f": {origin.rule_text}" if origin.rule_text else ""))
            if origin.operation:
                words.append(f"{origin.operation} booked")
            at = origin.source
        return tuple(reversed(words))


def parse_finding_codes(entries: Iterable[Any], reader: Reader) -> dict[str, FindingCode]:
    """Read `findings` of a family document: the closed list, by code."""
    codes: dict[str, FindingCode] = {}
    for index, entry in enumerate(entries, start=1):
        where = f"finding {index}"
        document = reader.mapping(entry, where, frozenset({"code", "scope", "text"}))
        code = reader.text(document, "code", where)
        if code in codes:
            reader.problem(where, f"the code {code[:60]!r} stands twice")
            continue
        codes[code] = FindingCode(
            code, reader.one_of(document, "scope", where, SCOPES), reader.text(document, "text", where)
        )
    return codes


def parse_rules(
    entries: Iterable[Any], codes: Mapping[str, FindingCode], engine_map: EngineMap, reader: Reader
) -> tuple[Rule, ...]:
    """Read `rules` of a family document. A rule only adds; anything else in it (`unless`, `removes`) is an unknown key."""
    rules = []
    for index, entry in enumerate(entries, start=1):
        where = f"rule {index}"
        document = reader.mapping(entry, where, frozenset({"if", "then", "text", "joins"}))
        source = reader.text(document, "if", where)
        targets = reader.texts(document, "then", where, required="joins" not in document)
        for code in (source, *targets):
            if code and code not in codes:
                reader.problem(where, f"unknown finding code {code[:60]!r}")
        for target in targets:
            if source in codes and target in codes:
                _check_reach(codes[source], codes[target], engine_map, where, reader)
        rules.append(
            Rule(source, targets, reader.text(document, "text", where, ""), reader.texts(document, "joins", where))
        )
    return tuple(rules)


def _check_reach(source: FindingCode, target: FindingCode, engine_map: EngineMap, where: str, reader: Reader) -> None:
    if target.scope == "position" and source.scope != "position":
        reader.problem(where, f"{target.code!r} happens at a single position: a rule cannot say at which")
    elif not engine_map.comparable(source.scope, target.scope):
        reader.problem(
            where, f"{source.code!r} ({source.scope}) and {target.code!r} ({target.scope}) do not hold one another"
        )


def check_finding(finding: Finding, codes: Mapping[str, FindingCode], engine_map: EngineMap) -> None:
    """Refuse a finding that the family does not know, or at a place of another scope.

    DomainError `finding-unknown` or `finding-place-wrong`, with the places that would be right (at most 40).
    """
    known = codes.get(finding.code)
    if known is None:
        raise _unknown(finding.code, codes)
    if engine_map.scope_of(finding.place) != known.scope:
        places = list(engine_map.places(known.scope)[:40])
        raise DomainError(
            "finding-place-wrong",
            f"{known.text!r} is found at {', '.join(spans(places))}, not at {finding.place[:60]!r}.",
            finding=finding.code,
            place=finding.place[:60],
            places=places,
        )


def _unknown(code: str, codes: Iterable[str]) -> DomainError:
    """The refusal of a finding that the family does not know, with those whose codes are near, or else all that it knows."""
    near = get_close_matches(code[:60], sorted(codes), n=4, cutoff=0.6)
    ways = tuple(f"Is it {name}?" for name in near) or (f"The family knows {', '.join(sorted(codes))}.",)
    return DomainError(
        "finding-unknown",
        f"{shown(code, 60)!r} is not a finding of this engine family.",
        ways_out=ways,
        finding=shown(code, 60),
    )


def parse_condition(value: Any, codes: Mapping[str, FindingCode]) -> Condition:
    """Read a condition: a leaf {"finding", "at": "same" | "any"}, or {"all" | "any": [conditions]}.

    DomainError `condition-unreadable` (negation, other shapes, more than six levels), `finding-unknown`.
    """
    return _condition(value, codes, _DEEPEST)


def _condition(value: Any, codes: Mapping[str, FindingCode], levels: int) -> Condition:
    if not isinstance(value, Mapping) or levels == 0:
        raise _unreadable("a condition is an object, at most six levels deep")
    keys = set(value)
    if keys & {"not", "none", "unless", "without"}:
        raise _unreadable("a condition only adds: it cannot say 'not'")
    if keys in ({"all"}, {"any"}):
        word = next(iter(keys))
        parts = value[word]
        if not isinstance(parts, list) or not 1 <= len(parts) <= _MOST_PARTS:
            raise _unreadable(f"{word!r} takes a list of 1 to {_MOST_PARTS} conditions")
        return Group(word == "all", tuple(_condition(part, codes, levels - 1) for part in parts))
    if keys <= {"finding", "at"} and isinstance(value.get("finding"), str):
        code = value["finding"]
        at = value.get("at", "same")
        if at not in ("same", "any"):
            raise _unreadable(f"'at' is 'same' or 'any', not {str(at)[:40]!r}")
        if code not in codes:
            raise _unknown(code, codes)
        return Leaf(code, at == "any")
    raise _unreadable(
        f"a condition names a finding, or all or any of several; got {sorted(str(key)[:20] for key in keys)}"
    )


def _unreadable(detail: str) -> DomainError:
    return DomainError("condition-unreadable", f"The condition cannot be read: {detail}.", detail=detail)


def evaluate(
    condition: Condition | None, position: str, closure: Closure, engine_map: EngineMap
) -> tuple[Finding, ...] | None:
    """The findings that make `condition` true at `position`, each once, in condition order; None where it is false.

    No condition is always true, of no finding: the empty tuple.
    """
    if condition is None:
        return ()
    if isinstance(condition, Leaf):
        if condition.anywhere:
            hits = tuple(Finding(condition.code, place) for place in closure.places(condition.code))
        else:
            holders = (Finding(condition.code, place) for place in engine_map.outward(position))
            hits = tuple(finding for finding in holders if finding in closure)
        return hits or None
    results = [evaluate(part, position, closure, engine_map) for part in condition.parts]
    true = [result for result in results if result is not None]
    if not true or (condition.every and len(true) < len(results)):
        return None
    return tuple(dict.fromkeys(finding for result in true for finding in result))


def codes_in(condition: Condition | None) -> frozenset[str]:
    """The finding codes that a condition asks for."""
    if condition is None:
        return frozenset()
    if isinstance(condition, Leaf):
        return frozenset({condition.code})
    return frozenset().union(*(codes_in(part) for part in condition.parts))


def close_findings(
    engine_map: EngineMap,
    codes: Mapping[str, FindingCode],
    rules: tuple[Rule, ...],
    recorded: Iterable[Finding],
    opened: Iterable[tuple[str, str]] = (),
) -> Closure:
    """Apply the rules until nothing changes.

    recorded  findings of the job (already checked with `check_finding`)
    opened    (finding code, operation code): what booking an operation brings, at ENGINE
    Goes layer by layer, each layer in map order and in the order of the rules, so the same findings give the same chains
    whatever order they came in. A target of a narrower scope is true at all places held; of a wider one at the holder.
    """
    rank = {code: number for number, code in enumerate(codes)}

    def in_order(findings: Iterable[Finding]) -> list[Finding]:
        return sorted(set(findings), key=lambda finding: (engine_map.order(finding.place), rank[finding.code]))

    by_source: dict[str, list[Rule]] = {}
    for rule in rules:
        by_source.setdefault(rule.source, []).append(rule)
    origins = {finding: Origin(0) for finding in in_order(recorded)}
    for code, operation in sorted(set(opened), key=lambda pair: (rank[pair[0]], pair[1])):
        origins.setdefault(Finding(code, ENGINE), Origin(0, operation=operation))
    layer = in_order(origins)
    depth = 0
    while layer:
        depth += 1
        fresh: dict[Finding, Origin] = {}
        for source in layer:
            for rule in by_source.get(source.code, ()):
                for target in rule.targets:
                    for place in engine_map.project(source.place, codes[target].scope):
                        finding = Finding(target, place)
                        if finding not in origins:
                            fresh.setdefault(finding, Origin(depth, source=source, rule_text=rule.text))
        origins.update(fresh)
        layer = in_order(fresh)
    places: dict[str, list[str]] = {}
    for finding in in_order(origins):
        places.setdefault(finding.code, []).append(finding.place)
    return Closure(origins, codes, {code: tuple(at) for code, at in places.items()})
