"""An engine family: its map, the closed list of findings, the rules, the either/or choices, what must be bought in."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from inventory.domain.errors import DomainError
from kits.domain.amounts import COUNT, LineAmount, read_amount
from kits.domain.build_facts import BuildFacts, read_build_facts
from kits.domain.engine_map import ONE_BANK, EngineMap, read_engine_map
from kits.domain.expected import Spans, read_spans
from kits.domain.facts import Facts
from kits.domain.facts_reading import read_facts
from kits.domain.findings import FindingCode, Rule, parse_finding_codes, parse_rules
from kits.domain.joints import Joint, read_joints
from kits.domain.pieces import NeededAt, read_pieces
from kits.domain.reading import LONGEST_CODE, LONGEST_NAME, Reader
from kits.domain.size_facts import SizeFact, read_sizes
from kits.domain.terms import Warranty, read_warranty
from kits.domain.washed_out import Loose, read_washed_out

CHOICE_SCOPES = ("engine", "bank", "position")
CHOICE_RULES = ("exactly-one", "at-most-one")
#: A choice that what stands on the shelves decides.
USE_UP = "use-up"
CHOICE_WAYS = (USE_UP, "finding", "measured", "person")


@dataclass(frozen=True, slots=True)
class Choice:
    """One either/or choice of a family.

    scope  over which places one alternative must be the same: the engine, a bank, a position
    rule   exactly one alternative, or one at most
    by     use-up: the first that fits and is covered whole by stock, else the next; finding: the first whose condition is
           true; measured: open until a measurement is recorded; person: open until somebody says
    """

    code: str
    scope: str
    rule: str
    by: str
    alternatives: tuple[str, ...]
    text: str


@dataclass(frozen=True, slots=True)
class BuyInRule:
    """A finding for which the shop lists no part: at which positions, how much at each, what it is called."""

    finding: str
    positions: tuple[str, ...]
    amount: LineAmount
    text: str


@dataclass(frozen=True, slots=True)
class Numbering:
    """How engine numbers of the family read: prefix, first number made, digits written."""

    prefix: str
    first: int
    width: int


@dataclass(frozen=True, slots=True)
class Family:
    """One revision of an engine family. Build it with `parse_family`."""

    code: str
    name: str
    revision: int
    numbering: Numbering
    map: EngineMap
    findings: Mapping[str, FindingCode]
    rules: tuple[Rule, ...]
    choices: Mapping[str, Choice]
    buy_ins: tuple[BuyInRule, ...]
    use: str = ""
    washed_out: tuple[Loose, ...] = ()
    warranty: Warranty | None = None
    joints: Mapping[str, Joint] = field(default_factory=dict, repr=False)
    facts: Facts = field(default_factory=Facts, repr=False)
    stated: Mapping[str, Any] = field(default_factory=dict, repr=False)
    build: BuildFacts = field(default_factory=BuildFacts, repr=False)
    sizes: tuple[SizeFact, ...] = field(default=(), repr=False)
    spans: Spans = field(default_factory=dict, repr=False)
    pieces: NeededAt = field(default_factory=dict, repr=False)


_FAMILY_KEYS = frozenset(
    {
        "code", "name", "use", "revision", "engine_numbers", "numbering_end", "front", "numbering_note", "banks",
        "valves_per_cylinder", "mains", "groups", "findings", "rules", "choices", "buy_in", "washed_out", "facts",
    }
)  # fmt: skip


def parse_family(document: Mapping[str, Any]) -> Family:
    """Read a family document. DomainError `family-unusable` names every problem, not the first."""
    reader = Reader()
    document = reader.mapping(document, "family", _FAMILY_KEYS)
    engine_map = read_engine_map(document, reader)
    codes = parse_finding_codes(reader.listing(document, "findings", "findings", required=True), reader)
    one_bank = any(name == ONE_BANK for name, _ in engine_map.banks)
    for code in codes.values():
        if code.scope != "position" and not engine_map.places(code.scope):
            reader.problem(f"finding {code.code}", f"the engine has no places of scope {code.scope}")
    rules = parse_rules(reader.listing(document, "rules", "rules"), codes, engine_map, reader)
    choices = _read_choices(document, one_bank, reader)
    buy_ins = _read_buy_ins(document, codes, engine_map, reader)
    numbering = _read_numbering(document, reader)
    washed_out = read_washed_out(document, reader)
    stated = document.get("facts", {})
    facts = read_facts(stated, engine_map, reader)
    stated = stated if isinstance(stated, Mapping) else {}
    warranty = read_warranty(stated, reader)
    joints = read_joints(stated, engine_map, reader)
    family = Family(
        code=reader.text(document, "code", "family", longest=LONGEST_CODE),
        name=reader.text(document, "name", "family", longest=LONGEST_NAME),
        revision=reader.whole(document, "revision", "family", low=1, high=10_000),
        numbering=numbering,
        map=engine_map,
        findings=codes,
        rules=rules,
        choices=choices,
        buy_ins=buy_ins,
        use=reader.text(document, "use", "family", ""),
        facts=facts,
        washed_out=washed_out,
        warranty=warranty,
        joints=joints,
        stated=stated,
        spans=read_spans(stated, reader),
        pieces=read_pieces(stated, engine_map, reader),
        build=read_build_facts(stated, codes, engine_map, reader),
        sizes=read_sizes(
            stated, engine_map, codes, {code: one.alternatives for code, one in choices.items()}, facts, reader
        ),
    )
    reader.refuse("family-unusable", "The engine family cannot be used")
    return family


def _read_numbering(document: Mapping[str, Any], reader: Reader) -> Numbering:
    where = "engine_numbers"
    entry = reader.mapping(document.get(where), where, frozenset({"prefix", "first", "width"}))
    prefix = reader.text(entry, "prefix", where)
    if prefix and not re.fullmatch(r"[A-Z0-9]{1,8}-?", prefix):
        reader.problem(
            where, f"the prefix {prefix[:20]!r} must be upper case letters and digits, with a dash at most at its end"
        )
    return Numbering(
        prefix,
        reader.whole(entry, "first", where, low=0, high=10**12),
        reader.whole(entry, "width", where, low=1, high=12),
    )


def _read_choices(document: Mapping[str, Any], one_bank: bool, reader: Reader) -> dict[str, Choice]:
    choices: dict[str, Choice] = {}
    keys = frozenset({"code", "scope", "rule", "by", "alternatives", "text"})
    for index, entry in enumerate(reader.listing(document, "choices", "choices"), start=1):
        where = f"choice {index}"
        choice = reader.mapping(entry, where, keys)
        code = reader.text(choice, "code", where)
        scope = reader.one_of(choice, "scope", where, CHOICE_SCOPES)
        if code in choices:
            reader.problem(where, f"the code {code[:60]!r} stands twice")
        if scope == "bank" and one_bank:
            reader.problem(where, "the engine has one bank only: say scope engine")
        alternatives = reader.texts(choice, "alternatives", where, required=True)
        if "none" in alternatives:
            reader.problem(where, "'none' is not an alternative: say at-most-one")
        choices[code] = Choice(
            code,
            scope,
            reader.one_of(choice, "rule", where, CHOICE_RULES),
            reader.one_of(choice, "by", where, CHOICE_WAYS),
            alternatives,
            reader.text(choice, "text", where, ""),
        )
    return choices


def _read_buy_ins(
    document: Mapping[str, Any], codes: Mapping[str, FindingCode], engine_map: EngineMap, reader: Reader
) -> tuple[BuyInRule, ...]:
    buy_ins = []
    keys = frozenset({"finding", "at", "amount", "text"})
    for index, entry in enumerate(reader.listing(document, "buy_in", "buy_in"), start=1):
        where = f"buy_in {index}"
        rule = reader.mapping(entry, where, keys)
        finding = reader.text(rule, "finding", where)
        if finding and finding not in codes:
            reader.problem(where, f"unknown finding code {finding[:60]!r}")
        buy_ins.append(
            BuyInRule(
                finding,
                read_positions(rule, engine_map, where, reader),
                read_amount(rule, COUNT, where, reader),
                reader.text(rule, "text", where),
            )
        )
    return tuple(buy_ins)


def read_positions(document: Mapping[str, Any], engine_map: EngineMap, where: str, reader: Reader) -> tuple[str, ...]:
    """Positions of `at`, a pattern or a list of patterns; one that fits nothing is a problem."""
    value = document.get("at")
    patterns = [value] if isinstance(value, str) else value
    if not isinstance(patterns, list) or not patterns or not all(isinstance(one, str) for one in patterns):
        reader.problem(where, "'at' must be a use position, a pattern, or a list of them")
        return ()
    found: list[str] = []
    for pattern in patterns:
        try:
            found.extend(engine_map.expand(pattern))
        except DomainError as error:
            reader.problem(where, error.message)
    return tuple(sorted(set(found), key=engine_map.order))
