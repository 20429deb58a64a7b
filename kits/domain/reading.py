"""Reads a structured document (family, procedure) and collects every problem, so that a refusal names all of them.

A document is what JSON gives: dicts, lists, texts, whole numbers, None. Nothing here trusts its types: a wrong one is a
problem with the place where it stands, never an exception.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from inventory.domain.errors import DomainError

#: No text of a family or a procedure is longer; a longer one is refused rather than stored.
LONGEST_TEXT = 2000
#: What the tables hold of a code, of a name, and of a parts line's id.
LONGEST_CODE, LONGEST_NAME, LONGEST_ID = 40, 200, 60


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong with a document: where it stands and what is wrong, both for a person."""

    where: str
    detail: str


class Reader:
    """Typed access to a document; what cannot be read becomes a `Problem` and a harmless default."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def problem(self, where: str, detail: str) -> None:
        """Keep one problem; the same one is kept once."""
        found = Problem(where, detail)
        if found not in self.problems:
            self.problems.append(found)

    def mapping(self, value: object, where: str, known: frozenset[str]) -> Mapping[str, Any]:
        """`value` as a mapping whose keys are all in `known`: a mistyped key would otherwise be a silent loss."""
        if not isinstance(value, Mapping):
            self.problem(where, "must be an object with named values")
            return {}
        for key in value:
            if key not in known:
                self.problem(where, f"unknown key {str(key)[:60]!r}")
        return value

    def text(
        self,
        document: Mapping[str, Any],
        key: str,
        where: str,
        default: str | None = None,
        *,
        longest: int = LONGEST_TEXT,
    ) -> str:
        """A text that is not empty; `default` serves when the key is absent or null. Without one the key is required."""
        value = document.get(key)
        if value is None and default is not None:
            return default
        if not isinstance(value, str) or (not value.strip() and default is None):
            self.problem(where, f"{key!r} must be a text that is not empty")
            return default or ""
        if len(value) > longest or "\x00" in value:
            self.problem(where, f"{key!r} is longer than {longest} characters or holds a NUL")
            return default or ""
        return value

    def one_of(
        self, document: Mapping[str, Any], key: str, where: str, allowed: tuple[str, ...], default: str | None = None
    ) -> str:
        """A text out of a closed list."""
        value = self.text(document, key, where, default)
        if value not in allowed and value:
            self.problem(where, f"{key!r} is {value[:60]!r}, must be one of {', '.join(allowed)}")
            return default or allowed[0]
        return value or allowed[0]

    def whole(
        self, document: Mapping[str, Any], key: str, where: str, *, low: int, high: int, default: int | None = None
    ) -> int:
        """A whole number from `low` to `high`, both included (True is not a number here)."""
        value = document.get(key)
        if value is None and default is not None:
            return default
        if not isinstance(value, int) or isinstance(value, bool) or not low <= value <= high:
            self.problem(where, f"{key!r} must be a whole number from {low} to {high}")
            return default if default is not None else low
        return value

    def yes(self, document: Mapping[str, Any], key: str, where: str) -> bool:
        """A yes or no; absent is no."""
        value = document.get(key, False)
        if not isinstance(value, bool):
            self.problem(where, f"{key!r} must be true or false")
            return False
        return value

    def listing(self, document: Mapping[str, Any], key: str, where: str, *, required: bool = False) -> list[Any]:
        """A list; absent is empty unless `required`, which also asks for one entry at least."""
        value = document.get(key)
        if value is None and not required:
            return []
        if not isinstance(value, list) or (required and not value):
            self.problem(where, f"{key!r} must be a list" + (" with one entry at least" if required else ""))
            return []
        return value

    def texts(self, document: Mapping[str, Any], key: str, where: str, *, required: bool = False) -> tuple[str, ...]:
        """A list of texts that are not empty, none of them twice."""
        values = self.listing(document, key, where, required=required)
        good: list[str] = []
        for value in values:
            if not isinstance(value, str) or not value.strip() or len(value) > LONGEST_TEXT or "\x00" in value:
                self.problem(where, f"{key!r} must hold texts that are not empty")
            elif value in good:
                self.problem(where, f"{key!r} holds {value[:60]!r} twice")
            else:
                good.append(value)
        return tuple(good)

    def refuse(self, code: str, head: str) -> None:
        """Raise DomainError(code) that names every problem; `values['problems']` lists them. Nothing wrong: return."""
        if not self.problems:
            return
        raise DomainError(
            code,
            f"{head}: " + "; ".join(f"{problem.where}: {problem.detail}" for problem in self.problems),
            problems=[{"where": problem.where, "detail": problem.detail} for problem in self.problems],
        )
