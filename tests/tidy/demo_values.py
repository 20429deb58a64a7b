"""The values of the demo shop, read from its files: none of them may be known to the program."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from tests.tidy.rules import ROOT, Fault, Source

SHOP = ROOT / "fixtures" / "shop"
#: Shorter values, such as an operation's code of two letters, also occur by chance.
SHORTEST = 4
#: Keys whose text is a value of the shop wherever it stands.
ANYWHERE = {
    "number",
    "login",
    "job",
    "engine",
    "lot",
    "kit",
    "part",
    "set",
    "serial",
    "supplier",
    "family",
    "prefix",
    "old",
}
#: Keys whose text is a value in some files only: a step or a place may bear an ordinary name.
BY_FILE = {
    "people": {"name"},
    "suppliers": {"name", "code"},
    "procedures": {"code", "id"},
    "shop": {"code"},
}


def walk(value: Any, keys: set[str]) -> Iterator[str]:
    """Every text under one of the keys, at any depth."""
    if isinstance(value, Mapping):
        for key, inner in value.items():
            if key in keys and isinstance(inner, str):
                yield inner
            yield from walk(inner, keys)
    elif isinstance(value, list):
        for inner in value:
            yield from walk(inner, keys)


def values_of(path: Path, document: Any) -> set[str]:
    """The values of the shop in one of its files."""
    kind = path.stem if path.parent == SHOP else path.parent.name
    found = set(walk(document, ANYWHERE | BY_FILE.get(kind, set())))
    if (
        kind == "families"
    ):  # codes of choices are ordinary words of the trade, those of families and findings are the shop's
        found |= {document["code"], *walk(document["findings"], {"code"})}
    return {text for text in found if len(text) >= SHORTEST}


def prefixes_of(document: Any) -> set[str]:
    """Beginnings of engine numbers, followed by a digit wherever a number is written."""
    return {prefix for prefix in walk(document, {"prefix"}) if prefix}


def pattern() -> re.Pattern[str]:
    """One pattern that finds any value of the shop as a whole word."""
    words: set[str] = set()
    beginnings: set[str] = set()
    for path in sorted(SHOP.rglob("*.json")):
        document = json.loads(path.read_text(encoding="utf-8"))
        words |= values_of(path, document)
        beginnings |= prefixes_of(document)
    every = [re.escape(word) for word in sorted(words, key=lambda word: (-len(word), word))]
    every += [re.escape(beginning) + r"\d+" for beginning in sorted(beginnings)]
    return re.compile(r"(?<![\w-])(" + "|".join(every) + r")(?![\w-])")


def check(source: Source, known: re.Pattern[str]) -> Iterator[Fault]:
    """Every place where the text of a file says a value of the shop."""
    for number, line in enumerate(source.text.splitlines(), 1):
        for found in known.finditer(line):
            yield Fault(number, f"a value of the demo shop: {found.group()}")
