"""What a house rule is: where it applies, how a file is checked, and samples that it must pass and must catch."""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
TOPS = ("manage.py", ".ci", "inventory", "kits", "api", "tests", "README.md", "DEVELOPERS.md", "pyproject.toml")
KINDS = {".py", ".html", ".css", ".js", ".md", ".toml", ".sh", ""}


@dataclass(frozen=True)
class Source:
    """One file: its path from the root with slashes, and its text."""

    path: str
    text: str

    @cached_property
    def tree(self) -> ast.Module:
        """The parsed module of a Python file."""
        return ast.parse(self.text, self.path)


@dataclass(frozen=True, slots=True)
class Fault:
    """A line and what is wrong there."""

    line: int
    what: str


@dataclass(frozen=True, slots=True)
class Rule:
    """A house rule. Samples are (path, text): good ones have no fault, each bad one has at least one."""

    name: str
    applies: Callable[[str], bool]
    check: Callable[[Source], Iterator[Fault]]
    good: tuple[tuple[str, str], ...]
    bad: tuple[tuple[str, str], ...]


def sources() -> Iterator[Source]:
    """Every file of ours that the rules look at."""
    for top in TOPS:
        start = ROOT / top
        files = sorted(start.rglob("*")) if start.is_dir() else [start]
        for file in files:
            if file.is_file() and file.suffix in KINDS and "__pycache__" not in file.parts:
                yield Source(file.relative_to(ROOT).as_posix(), file.read_text(encoding="utf-8"))


def is_python(path: str) -> bool:
    """A Python file that people write; migrations are written by the framework."""
    return path.endswith(".py") and "/migrations/" not in path


def in_code(path: str) -> bool:
    """A Python file of the program itself."""
    return is_python(path) and path.split("/")[0] in {"inventory", "kits", "api"}


def in_layer(path: str, *layers: str) -> bool:
    """In one of the layers of a package, as a module or as a folder: `inventory/domain/…`, `kits/services/…`."""
    parts = path.removesuffix(".py").split("/")
    return in_code(path) and len(parts) > 1 and parts[1] in layers


def dotted(node: ast.AST) -> str:
    """`a.b.c` for names and attributes, "" for anything else."""
    if isinstance(node, ast.Name):
        return node.id
    if isinstance(node, ast.Attribute):
        before = dotted(node.value)
        return f"{before}.{node.attr}" if before else f"?.{node.attr}"
    return ""


def last_two(node: ast.AST) -> tuple[str, str]:
    """The last two names of an attribute: ("timezone", "now") for `django.utils.timezone.now`."""
    parts = ["", *dotted(node).split(".")]
    return parts[-2], parts[-1]


def imports(source: Source) -> Iterator[tuple[int, str, str]]:
    """(line, module, name) of every import, relative ones spelled out; name is "" for `import module`."""
    for node in ast.walk(source.tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node.lineno, alias.name, ""
        elif isinstance(node, ast.ImportFrom):
            package = source.path.split("/")[: -node.level] if node.level else []
            module = ".".join([*package, *([node.module] if node.module else [])])
            for alias in node.names:
                yield node.lineno, module, alias.name


def texts(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """(line, text) of every string that is not a docstring or a bare sentence; of an f-string its first piece."""
    bare = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    later = {id(piece) for node in ast.walk(tree) if isinstance(node, ast.JoinedStr) for piece in node.values[1:]}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and not {id(node)} & (bare | later):
            yield node.lineno, node.value
