"""What the documents say of the program: commands, paths, settings, and excerpts of code."""

import re
from collections.abc import Iterator

from tests.tidy.rules import ROOT, Fault, Source

COMMAND = re.compile(r"(?:python3?\s+|`|\./)manage\.py[ \t]+([a-z][a-z0-9_-]*)")
#: A path from the root in backticks, or one beside a bracket of a table's layer (`*/domain`), which is no path.
PATH = re.compile(r"`([a-z_.]+(?:/[a-z_A-Z0-9.-]+)*/?)`")
TOP = ("inventory/", "kits/", "api/", "tests/", "fixtures/", ".ci/")
SETTING = re.compile(r"\b(MATCHBORE_[A-Z_]+|DATABASE_URL)\b")
#: An excerpt: the file stands, in backticks and before a colon, at the end of the paragraph above the block.
EXCERPT = re.compile(r"From `([a-z_/.]+)`:\n\n```python\n(.*?)```", re.DOTALL)


def is_document(path: str) -> bool:
    """A document for people."""
    return path.endswith(".md")


def check(source: Source, known: set[str]) -> Iterator[Fault]:
    """Every command named after manage.py that does not exist."""
    for number, line in enumerate(source.text.splitlines(), 1):
        for name in COMMAND.findall(line):
            if name not in known:
                yield Fault(number, f"there is no command {name}")


def check_paths(source: Source) -> Iterator[Fault]:
    """Every path from the root that leads nowhere."""
    for number, line in enumerate(source.text.splitlines(), 1):
        for path in PATH.findall(line):
            if path.startswith(TOP) and not (ROOT / path).exists():
                yield Fault(number, f"there is no {path}")


def check_excerpts(source: Source) -> Iterator[Fault]:
    """Every block of code that is said to come from a file and does not stand there."""
    for found in EXCERPT.finditer(source.text):
        path, block = ROOT / found[1], found[2]
        if not path.is_file() or block not in path.read_text(encoding="utf-8"):
            yield Fault(source.text[: found.start()].count("\n") + 1, f"this is not what {found[1]} says")


def settings_of(text: str) -> set[str]:
    """Names of settings in a text."""
    return set(SETTING.findall(text))
