"""What a scanned label says: GS1 element strings, ANSI MH10.8.2 data in its ISO/IEC 15434 envelope, or a plain number.

A label is read or refused, never guessed. Where a scanner swallowed the separators (FNC1) of a GS1 string, every way to read it
is tried; if more than one is left, that is said. What no reader knows here stays in `other`, nothing of a label is lost.

Sources: GS1 identifiers and formats, `data/gs1_identifiers.csv`; check digit, GS1 General Specifications as its public pages
show it; the century of a two-digit year and "day 00 is the last of the month", GS1 General Specifications (from memory);
data identifiers, ANSI MH10.8.2 (parts read, parts from memory); the envelope, ISO/IEC 15434 (from memory); the prefix that a
scanner puts before what it read, ISO/IEC 15424 (from memory).
"""

from __future__ import annotations

import csv
import re
from calendar import monthrange
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from .errors import DomainError
from .text import shown

LONGEST = 400
#: More ways than these to read one string are not told apart one by one; so many of them are shown.
WAYS, SHOWN = 50, 5
FNC1 = "\x1d"
_RECORD, _END = "\x1e", "\x04"
_TABLE = Path(__file__).parent / "data" / "gs1_identifiers.csv"
_SYMBOLOGY = re.compile(r"\][A-Za-z][0-9a-zA-Z]")
_GS1_SYMBOLOGIES = ("]C1", "]e0", "]d2", "]Q3", "]J1")
_IN_WORDS = re.compile(r"\((\d{2,4})\)([^(]*)")
_DATA = re.compile(r"(\d{0,3}[A-Z])(.+)", re.DOTALL)
#: Many scanners send FNC1 as GS and leave out the prefix: there is one in front, or behind a field that begins with its identifier.
_LED = re.compile(rf"{FNC1}|[0-9]{{2}}[^\x00-\x1f]*{FNC1}")
_COUNT = re.compile(r"[0-9]{1,9}")
_COMPONENT = re.compile(r"(\[)?([NXYZ])(\.\.)?(\d+)\]?")
#: Characters of GS1's set 82, what X means.
_SET_82 = r"[!\"%&'()*+,\-./0-9:;<=>?A-Z_a-z]"

#: GS1 identifier → what it means here.
_GS1_MEANS = {
    "00": "package", "01": "gtin", "02": "gtin", "10": "lot", "11": "made_on", "17": "expires_on", "21": "serial",
    "240": "part", "241": "part", "30": "count", "37": "count", "400": "order",
}  # fmt: skip
_DATES = ("11", "13", "15", "16", "17")
#: ANSI MH10.8.2 data identifier → what it means here.
_DATA_MEANS = {
    "P": "part", "1P": "part", "30P": "part", "S": "serial", "T": "lot", "1T": "lot", "Q": "count", "K": "order",
    "V": "supplier", "1V": "supplier", "14D": "expires_on", "16D": "made_on",
    "2P": "", "18S": "", "25S": "", "3S": "package", "4S": "package", "5S": "package", "7Q": "", "13Q": "", "4K": "",
    "9D": "", "10D": "", "6D": "", "12D": "", "17V": "", "12V": "", "3V": "", "4L": "", "L": "", "E": "",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Label:
    """What a label says.

    form   "gs1", "ansi mh10.8.2" or "plain"
    gtin   fourteen digits, check digit right; part, lot, serial, supplier, order, package: as printed, "" if not said
    count  pieces; expires_on, made_on: days
    text   of a plain label: all of it, spaces around it taken off
    other  identifier → what stood behind it, of everything that has no meaning here
    """

    form: str
    text: str = ""
    gtin: str = ""
    part: str = ""
    lot: str = ""
    serial: str = ""
    supplier: str = ""
    order: str = ""
    package: str = ""
    count: int | None = None
    expires_on: date | None = None
    made_on: date | None = None
    other: Mapping[str, str] = field(default_factory=dict)


def read_label(text: str, today: date) -> Label:
    """Read what a scanner sent or a person typed.

    today   decides the century of two-digit years
    Errors: `label-unreadable` where a field is not as its identifier wants it, `check-digit-wrong`, `label-ambiguous` with the
    ways in which it could be read.
    """
    if not text.strip() or len(text) > LONGEST:
        raise _unreadable(text, "is empty or longer than any label")
    body = text.strip(" \r\n\t")
    prefix = _SYMBOLOGY.match(body)
    said = prefix.group() if prefix else ""
    body = body[len(said) :]
    if body.startswith("[)>"):
        return _enveloped(body, today)
    if said in _GS1_SYMBOLOGIES or _LED.match(body):
        return _gs1(body.lstrip(FNC1), today)
    if _IN_WORDS.match(body):
        return _gs1_in_words(body, today)
    if any(ord(sign) < 32 for sign in body):
        raise _unreadable(text, "has control characters that belong to no label known here")
    return Label("plain", text=body)


def is_structured(text: str) -> bool:
    """True if a text begins like a label of one of the forms, not like a plain number."""
    return text.startswith("[)>") or FNC1 in text or bool(_SYMBOLOGY.match(text) or _IN_WORDS.match(text))


def as_gs1(text: str, today: date) -> Label | None:
    """A plain text read as a GS1 string without prefix and separators; None if it cannot be one. For a text that is no number
    known here. Error: `label-ambiguous`."""
    if not re.match(r"0[0-3]\d{14}", text):
        return None
    try:
        return _gs1(text, today)
    except DomainError as error:
        if error.code == "label-ambiguous":
            raise
        return None


def as_data(text: str, today: date) -> Label | None:
    """A plain text read as one field with its ANSI data identifier before it, as linear labels carry it; None if it has none."""
    found = _DATA.fullmatch(text)
    if found is None or not _DATA_MEANS.get(found[1]):
        return None
    try:
        return _made("ansi mh10.8.2", [(found[1], found[2])], _DATA_MEANS, today)
    except DomainError:
        return None


def check_digit(body: str) -> int:
    """The GS1 check digit of digits without it: from the right times 3, 1, 3 …, up to the next ten."""
    return -sum(int(digit) * (1 if at % 2 else 3) for at, digit in enumerate(reversed(body))) % 10


def as_gtin(digits: str) -> str:
    """A GTIN of 8, 12, 13 or 14 digits as fourteen; "" if it is none or its check digit is wrong."""
    if not (digits.isascii() and digits.isdigit() and len(digits) in (8, 12, 13, 14)):
        return ""
    return digits.zfill(14) if check_digit(digits[:-1]) == int(digits[-1]) else ""


def day_of(digits: str, today: date) -> date:
    """YYMMDD as a day; day 00 is the last of its month. The year is the one nearest to this one: at most 50
    years ahead of it and 49 behind. ValueError if there is no such day."""
    year, month, day = int(digits[:2]), int(digits[2:4]), int(digits[4:])
    year += today.year - today.year % 100
    if year - today.year >= 51:
        year -= 100
    elif year - today.year <= -50:
        year += 100
    return date(year, month, day or monthrange(year, month)[1])


@dataclass(frozen=True, slots=True)
class _Identifier:
    form: re.Pattern[str]
    longest: int
    fixed: bool
    digits: int  # of its first component, if that ends in a check digit
    title: str


@cache
def _identifiers() -> dict[str, _Identifier]:
    with _TABLE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    found: dict[str, _Identifier] = {}
    for row in rows:
        pattern, longest = "", 0
        for component in row["format"].split():
            optional, kind, upto, size = _COMPONENT.match(component).groups()  # type: ignore[union-attr]  # the file is ours
            one = r"[0-9]" if kind == "N" else _SET_82
            piece = f"{one}{{1,{size}}}" if upto else f"{one}{{{size}}}"
            pattern += f"(?:{piece})?" if optional else piece
            longest += int(size)
        first = row["format"].split()[0]
        check = int(re.sub(r"\D", "", first.split(",")[0])) if ",csum" in f",{first.partition(',')[2]}" else 0
        low, _, high = row["identifier"].partition("-")
        for number in range(int(low), int(high or low) + 1):
            code = str(number).zfill(len(low))
            found[code] = _Identifier(
                re.compile(pattern, re.ASCII), longest, row["separator"] == "no", check, row["title"]
            )
    return found


def _gs1_in_words(text: str, today: date) -> Label:
    """`(01)04012345987652(10)ABC`, as printed under a code; brackets also stand in values, so all must be identifiers."""
    fields = _IN_WORDS.findall(text)
    if "".join(f"({code}){value}" for code, value in fields) != text:
        raise _unreadable(text, "is not made of identifiers in brackets, each with what it says")
    for code, value in fields:
        _check_field(text, code, value)
    return _made("gs1", fields, _GS1_MEANS, today)


def _check_field(text: str, code: str, value: str) -> None:
    known = _identifiers().get(code)
    if known is None:
        raise _unreadable(text, f"has an identifier ({code}) that GS1 does not have")
    if not known.form.fullmatch(value):
        raise _unreadable(text, f'has "{shown(value)}" behind ({code}), {known.title}, which is of another form')
    if known.digits and check_digit(value[: known.digits - 1]) != int(value[known.digits - 1]):
        raise DomainError(
            "check-digit-wrong",
            f'The check digit of "{shown(value)}" behind ({code}) is wrong: it was misread.',
            ways_out=("Scan it again.", "Type the number that is printed under it."),
            value=shown(value),
        )


def _gs1(text: str, today: date) -> Label:
    ways = _ways(text)
    if not ways:
        raise _unreadable(text, "is no GS1 string: behind some identifier stands something of another form")
    good = []
    for way in ways:
        try:
            for code, value in way:
                _check_field(text, code, value)
            good.append(_made("gs1", way, _GS1_MEANS, today))
        except DomainError as error:
            wrong = error
    if not good:
        raise wrong
    if len(good) > 1:
        raise DomainError(
            "label-ambiguous",
            f'"{shown(text)}" has lost its separators and can be read in more than one way.',
            ways_out=(
                "Set the scanner to send FNC1 as the character GS (29).",
                "Type the numbers that are printed on it.",
            ),
            ways=["".join(f"({code}){value}" for code, value in way) for way in ways[:SHOWN]],
        )
    return good[0]


def _ways(text: str) -> list[list[tuple[str, str]]]:
    """Ways to cut a string into fields, WAYS at most. A separator ends a field of open length; a string without any may have
    lost them, so each length of such a field is tried."""
    lost = FNC1 not in text
    known: dict[int, list[list[tuple[str, str]]]] = {len(text): [[]]}
    for at in range(len(text) - 1, -1, -1):
        known[at] = [
            [(code, text[start:end]), *more]
            for code, start, end in _fields_at(text, at, lost)
            for more in known[end + 1 if text[end : end + 1] == FNC1 else end]
        ][:WAYS]
    return known[0]


def _fields_at(text: str, at: int, lost: bool) -> Iterator[tuple[str, int, int]]:
    """(identifier, start and end of its value) of every field that may begin at a place."""
    for size in (2, 3, 4):
        code, start = text[at : at + size], at + size
        known = _identifiers().get(code)
        if known is None:
            continue
        if known.fixed:
            ends = [start + known.longest]
        elif lost:
            ends = list(range(min(start + known.longest, len(text)), start, -1))
        else:
            end = text.find(FNC1, start)
            ends = [len(text) if end < 0 else end]
        yield from ((code, start, end) for end in ends if known.form.fullmatch(text[start:end]) and end <= len(text))


def _enveloped(text: str, today: date) -> Label:
    """`[)>` RS format GS field GS field … RS EOT; format 06 has ANSI data identifiers, 05 GS1's. The end may be missing."""
    parts = text.split(_RECORD)
    if len(parts) < 2 or parts[0] != "[)>":
        raise _unreadable(text, "begins like an ISO/IEC 15434 message and is none")
    which, *fields = parts[1].split(FNC1)
    if which == "05":
        return _gs1(FNC1.join(fields), today)
    if which != "06" or not any(fields) or [part for part in parts[2:] if part.strip(_END)]:
        raise _unreadable(text, f'holds format "{shown(which)}"; 05 and 06 are read, one to a message')
    read = []
    for one in filter(None, fields):
        found = _DATA.fullmatch(one.rstrip(_END))
        if found is None:
            raise _unreadable(text, f'has the field "{shown(one)}" without a data identifier')
        read.append((found[1], found[2]))
    return _made("ansi mh10.8.2", read, _DATA_MEANS, today)


def _made(form: str, fields: list[tuple[str, str]], means: Mapping[str, str], today: date) -> Label:
    said: dict[str, Any] = {}
    other: dict[str, str] = {}
    for code, value in fields:
        name = means.get(code, "")
        if not name:
            other[code] = value
            continue
        read = _value(name, value, today)
        if said.setdefault(name, read) != read:
            raise _unreadable(value, f'says "{name}" twice, and differently')
    return Label(form, **said, other=other)


def _value(name: str, value: str, today: date) -> Any:
    try:
        if name == "count":
            return int(value if _COUNT.fullmatch(value) else "")
        if name in ("expires_on", "made_on"):
            if len(value) == 8:
                return date(int(value[:4]), int(value[4:6]), int(value[6:]))
            return day_of(value, today)
    except ValueError:
        raise _unreadable(value, "is no day" if name != "count" else "is no count") from None
    return value


def _unreadable(text: str, why: str) -> DomainError:
    return DomainError("label-unreadable", f'"{shown(text)}" {why}.', scanned=shown(text))
