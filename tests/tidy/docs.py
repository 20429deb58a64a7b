"""Commands that the documents name."""

import re
from collections.abc import Iterator

from tests.tidy.rules import Fault, Source

COMMAND = re.compile(r"(?:python3?\s+|`|\./)manage\.py[ \t]+([a-z][a-z0-9_-]*)")


def is_document(path: str) -> bool:
    """A document for people."""
    return path.endswith(".md")


def check(source: Source, known: set[str]) -> Iterator[Fault]:
    """Every command named after manage.py that does not exist."""
    for number, line in enumerate(source.text.splitlines(), 1):
        for name in COMMAND.findall(line):
            if name not in known:
                yield Fault(number, f"there is no command {name}")
