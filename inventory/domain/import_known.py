"""A row of a table while it is judged, and what is on record of what it names."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.import_cells import Doubt, Evidence, is_bare, zero_eaten
from inventory.domain.import_kinds import Kind
from inventory.domain.items import Base, Tracked
from inventory.domain.part_numbers import compare_key
from inventory.domain.quantities import read_amount
from inventory.domain.text import shown
from inventory.domain.units import Dimension

#: Longest number to which zeros in front are looked for in the catalogue.
MOST_ZEROS = 8


@dataclass(frozen=True, slots=True)
class KnownPart:
    """A part on record, as far as rows speak of it."""

    number: str
    name: str
    unit: str
    base: Base
    tracked_by: Tracked
    #: a lot of it without the date that its life is counted from goes to quarantine
    needs_date: bool = False


@dataclass(frozen=True, slots=True)
class Known:
    """What is on record of what a chunk of rows names.

    parts      compare-key -> the part; several records of one key: the first by number
    places     codes of places in which stock may lie
    quarantines  those of them that are no shelf
    suppliers  codes
    labels     ("lot" or "serial", part number, look of a key) -> how the part's labels that look so are spelled -> their key
    undated    (part number, lot) on record without the date that its life is counted from
    more       what a kind of another app knows beside these
    """

    parts: Mapping[str, KnownPart] = field(default_factory=dict)
    places: frozenset[str] = frozenset()
    quarantines: frozenset[str] = frozenset()
    suppliers: frozenset[str] = frozenset()
    labels: Mapping[tuple[str, str, str], Mapping[str, str]] = field(default_factory=dict)
    undated: frozenset[tuple[str, str]] = frozenset()
    more: Any = None


@dataclass(slots=True)
class Row:
    """A row being judged."""

    kind: Kind
    known: Known
    evidence: Evidence
    today: date
    answers: Mapping[str, str]
    values: dict[str, Any] = field(default_factory=dict)
    doubts: list[Doubt] = field(default_factory=list)
    errors: list[DomainError] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)

    def text(self, name: str) -> str:
        value = self.values.get(name)
        return "" if value is None else str(value)

    def ask(self, code: str, column: str, typed: str, proposal: str, words: str) -> None:
        """A question, unless it was answered."""
        if column not in self.answers:
            self.doubts.append(Doubt(code, column, typed, proposal, words))

    def refuse(self, code: str, message: str, **values: Any) -> None:
        self.errors.append(DomainError(code, message, **values))


def document(row: Row, name: str) -> dict[str, Any]:
    """A cell that holds several words with their names, as JSON: {"from": "cure", "years": 7}."""
    text = row.text(name)
    if not text:
        return {}
    try:
        found = json.loads(text, parse_constant=_no_number)
    except (ValueError, RecursionError):
        found = None
    if not isinstance(found, dict):
        row.refuse("cell-unreadable", f"{name}: it is no JSON object.", column=name, typed=shown(text))
        return {}
    return found


def _no_number(word: str) -> None:
    raise ValueError(f"{word} is no number")


def measure(row: Row, name: str, dimension: Dimension) -> int | None:
    """A measure with its unit, in base units."""
    text = row.values.get(name)
    if text is None:
        return None
    if is_bare(text):
        row.ask("no-unit", name, text, "", f"{name}: {text} of what unit?")
        return None
    try:
        return read_amount(text, dimension).amount
    except DomainError as error:
        row.errors.append(error)
        return None


def known_part(row: Row) -> KnownPart | None:
    """The part that a row names; asks where only zeros in front are missing, refuses one that is not on record."""
    typed = row.text("part")
    try:
        key = compare_key(typed)
    except DomainError as error:
        row.errors.append(error)
        return None
    part = row.known.parts.get(key)
    if part is not None:
        row.values["part"] = part.number
        return part
    if any(doubt.column == "part" for doubt in row.doubts):
        return None
    padded = [
        row.known.parts[full]
        for full in (key.zfill(width) for width in range(len(key) + 1, MOST_ZEROS + 1))
        if key.isascii() and key.isdigit() and full in row.known.parts
    ]
    if padded:
        row.doubts.append(zero_eaten("part", typed, padded[0].number, f"that is on record: {padded[0].name}"))
        return None
    row.refuse("not-found", f"No part {typed} is on record.", part=typed)
    return None
