"""The parts of DEVELOPERS.md that are written from the program itself: its guards, its codes, its acts.

`python -m tests.tidy.developers` writes them anew between their marks; a test compares what stands there with what would be
written, and the guards with what the database really has.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from tests.tidy.rules import ROOT

FILE = ROOT / "DEVELOPERS.md"
OURS = ("inventory", "kits")
_SIGNS = {"exact": "=", "gt": ">", "gte": "≥", "lt": "<", "lte": "≤"}


@dataclass(frozen=True, slots=True)
class Guard:
    """One thing that a table refuses. `columns` of the database; `when` is the condition of a partial one, in words."""

    kind: str
    table: str
    name: str
    columns: tuple[str, ...] = ()
    when: str = ""


def models() -> list[Any]:
    """Every table of ours, those between two tables too."""
    from django.apps import apps

    found = [model for label in OURS for model in apps.get_app_config(label).get_models(include_auto_created=True)]
    return sorted(found, key=lambda model: str(model._meta.db_table))


def in_words(condition: Any) -> str:
    """A condition of Django's (Q) as a line of words: `held ≥ 0 and amount ≥ held`."""
    pieces = []
    for child in condition.children:
        inner = in_words(child) if hasattr(child, "children") else _leaf(*child)
        mixed = hasattr(child, "children") and len(child.children) > 1 and not child.negated
        pieces.append(f"({inner})" if mixed and child.connector != condition.connector else inner)
    said = f" {condition.connector.lower()} ".join(pieces)
    return f"not ({said})" if condition.negated else said


def _leaf(lookup: str, value: Any) -> str:
    name, _, way = lookup.partition("__")
    if way == "isnull":
        return f"{name} is {'' if value else 'not '}empty"
    if way == "in":
        return f"{name} is one of {', '.join(map(_value, value))}"
    return f"{name} {_SIGNS[way or 'exact']} {_value(value)}"


def _value(value: Any) -> str:
    if hasattr(value, "name"):
        return str(value.name)  # F: another column of the row
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f'"{value}"' if isinstance(value, str) else str(value)


def _columns(model: Any, names: Any) -> tuple[str, ...]:
    return tuple(model._meta.get_field(name).column for name in names)


def guards() -> list[Guard]:
    """Every guard that the models and the lists of the write-once tables ask for, by table."""
    from inventory.models.guards import APPEND_ONLY, names
    from kits.models.guards import APPEND_ONLY as OF_KITS

    found = [Guard("trigger", table, name) for table in (*APPEND_ONLY, *OF_KITS) for name in names(table, "postgresql")]
    for model in models():
        found += _guards_of(model)
    return found


def _guards_of(model: Any) -> Iterator[Guard]:
    from django.db.models import CheckConstraint, UniqueConstraint

    table = str(model._meta.db_table)
    for constraint in model._meta.constraints:
        if isinstance(constraint, CheckConstraint):
            yield Guard("check", table, constraint.name, when=in_words(constraint.condition))
        elif isinstance(constraint, UniqueConstraint):
            when = in_words(constraint.condition) if constraint.condition else ""
            yield Guard("unique", table, constraint.name, _columns(model, constraint.fields), when)
    for fields in model._meta.unique_together:
        yield Guard("unique", table, "", _columns(model, fields))
    for field in model._meta.concrete_fields:
        if field.primary_key and field.is_relation:
            yield Guard("one row for each", table, "", (field.column,))
        elif field.unique and not field.primary_key:
            yield Guard("unique", table, "", (field.column,))
        if field.get_internal_type().startswith("Positive"):
            yield Guard("not below zero", table, "", (field.column,))
    for index in model._meta.indexes:
        if index.condition is not None:
            yield Guard("partial index", table, index.name, _columns(model, index.fields), in_words(index.condition))


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


def written_once() -> Iterator[str]:
    """The table of the triggers."""
    from inventory.models.guards import names

    yield "| table | triggers on both databases | on PostgreSQL too |"
    yield "| --- | --- | --- |"
    for table in dict.fromkeys(guard.table for guard in guards() if guard.kind == "trigger"):
        both = names(table, "sqlite")
        more = [name for name in names(table, "postgresql") if name not in both]
        yield f"| `{table}` | {', '.join(f'`{name}`' for name in both)} | {', '.join(f'`{name}`' for name in more)} |"


def constraints() -> Iterator[str]:
    """The table of checks, of what is there once, and of partial indexes."""
    yield "| table | guard | name | columns or rule |"
    yield "| --- | --- | --- | --- |"
    for guard in guards():
        if guard.kind != "trigger":
            rule = ", ".join(guard.columns)
            rule += (" where " if rule and guard.when else "") + guard.when
            name = f"`{guard.name}`" if guard.name else ""
            yield f"| `{guard.table}` | {guard.kind} | {name} | {_cell(rule)} |"


def codes() -> Iterator[str]:
    """The table of codes."""
    from inventory.domain.error_codes import CODES

    yield "| code | HTTP | what it means |"
    yield "| --- | --- | --- |"
    for code, meaning in CODES.items():
        yield f"| `{code}` | {meaning.status} | {_cell(meaning.title)} |"


def audit_checks() -> Iterator[str]:
    """The invariants that the audit recomputes."""
    from inventory.queries.audit import every_check

    yield "| invariant | found at | what a finding says |"
    yield "| --- | --- | --- |"
    for check in every_check():
        yield f"| `{check.invariant}` | {check.table} | {_cell(check.sentence)} |"


def permissions() -> Iterator[str]:
    """Who may do which act, as the groups are set up at first."""
    from api.rest.permissions import REBUILDS, ROLES, STORES, may

    yield "| permission | groups that start with it |"
    yield "| --- | --- |"
    for table in (STORES, REBUILDS):
        for name, roles in table.items():
            yield f"| `{may(name)}` | {', '.join(role for role in ROLES if role in roles)} |"


SECTIONS = {
    "written once": written_once,
    "constraints": constraints,
    "codes": codes,
    "audit": audit_checks,
    "permissions": permissions,
}


def marked(name: str) -> tuple[str, str]:
    """The marks before and after a section."""
    return f"<!-- begin {name}: written by python -m tests.tidy.developers -->", f"<!-- end {name} -->"


def section(text: str, name: str) -> str:
    """What stands between the marks of a section; ValueError where it has none."""
    begin, end = marked(name)
    found = re.search(f"{re.escape(begin)}\n(.*?){re.escape(end)}", text, re.DOTALL)
    if found is None:
        raise ValueError(f"DEVELOPERS.md has no section {name!r}")
    return found.group(1)


def written(name: str) -> str:
    """What has to stand there."""
    return "\n".join(SECTIONS[name]()) + "\n"


def main() -> None:
    """Write every section anew."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    import django

    django.setup()
    text = FILE.read_text(encoding="utf-8")
    for name in SECTIONS:
        begin, end = marked(name)
        text = text.replace(f"{begin}\n{section(text, name)}{end}", f"{begin}\n{written(name)}{end}")
    FILE.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
