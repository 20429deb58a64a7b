"""What a thing is: its base unit, how it is tracked, and the one text that says its identity within a part."""

from __future__ import annotations

import re
from enum import StrEnum


class Base(StrEnum):
    """Base units: every amount is a whole number of one of these."""

    PIECE = "piece"
    MICROLITRE = "microlitre"
    MILLIGRAM = "milligram"
    NANOMETRE = "nanometre"


class Tracked(StrEnum):
    """How a part is told apart."""

    NOTHING = "nothing"
    LOT = "lot"
    SERIAL = "serial"
    SET = "set"


class Member(StrEnum):
    """The members of a matched set that have identity; the whole set is the empty text."""

    WHOLE = ""
    LINER = "liner"
    PISTON = "piston"
    PIN = "pin"


def was_found(text: str) -> bool:
    """Whether an identity is that of a part of unknown history, which was found with nothing to read on it."""
    return text.startswith("found=")


def identity(
    *, lot: str = "", serial: str = "", member: str = "", tube: str = "", kit_item: int | None = None, found: str = ""
) -> str:
    """One text for each combination of lot code, serial, member, tube, the kit item it came out of, and where a part of
    unknown history was found; "-" for none.

    The text is unique within a part, so uniqueness never rests on a nullable column (SQLite does not enforce it there).
    Lot codes and serials may hold any character: the separator "|" and the escape "\\" are escaped.
    """
    parts = []
    for label, value in (("lot", lot), ("serial", serial), ("member", member), ("tube", tube), ("found", found)):
        if value:
            parts.append(f"{label}={value.replace(chr(92), chr(92) * 2).replace('|', chr(92) + '|')}")
    if kit_item is not None:
        parts.append(f"kit={kit_item}")
    return "|".join(parts) or "-"


#: How each piece of an identity is said; the values may hold any character.
_SAID = {
    "lot": "lot {}",
    "serial": "serial {}",
    "member": "its {}",
    "tube": "tube {}",
    "found": "found at {}",
    "kit": "out of kit item {}",
}
_BETWEEN = re.compile(r"(?<!\\)(?:\\\\)*\|")
_ESCAPED = re.compile(r"\\(.)", re.DOTALL)


def said(text: str) -> str:
    """An identity as a person is told: "lot L-1, tube T-4"; "" for none. What is no identity is said as it is."""
    pieces = []
    for piece in _pieces(text):
        label, equals, value = piece.partition("=")
        words = _SAID.get(label) if equals else None
        pieces.append(words.format(_ESCAPED.sub(r"\1", value)) if words else piece)
    return ", ".join(pieces)


def _pieces(text: str) -> list[str]:
    """The text cut at every separator that is not escaped."""
    if text == "-":
        return []
    found, start = [], 0
    for hit in _BETWEEN.finditer(text):
        found.append(text[start : hit.end() - 1])
        start = hit.end()
    return [*found, text[start:]]
