"""The audit: everything that is cached or promised is recomputed from the rows, and every difference is named."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.db import connection

from inventory.models import Act, Movement
from inventory.queries.audit_checks import CHECKS, Check
from inventory.queries.snapshot import snapshot


@dataclass(frozen=True, slots=True)
class Finding:
    """One broken invariant: its name, the table and row it was found at, and a sentence with both numbers."""

    invariant: str
    table: str
    row: int | str
    sentence: str

    def __str__(self) -> str:
        return f"{self.invariant}: {self.table} {self.row}: {self.sentence}"


_of_other_apps: list[Check] = []


def also_check(*checks: Check) -> None:
    """Have the audit look at these too: an app says so in its `queries/audit_checks.py`, since inventory knows no other app."""
    _of_other_apps.extend(check for check in checks if check not in _of_other_apps)


def every_check() -> tuple[Check, ...]:
    """The invariants of all apps, those of the books first."""
    return (*CHECKS, *_of_other_apps)


def audit() -> list[Finding]:
    """Every broken invariant, in the order of `every_check`; empty when the books are right. One consistent view."""
    with snapshot():
        return [finding for check in every_check() for finding in run_check(check)]


def size() -> tuple[int, int]:
    """How many acts and movements the books have."""
    return Act.objects.count(), Movement.objects.count()


def run_check(check: Check) -> Iterator[Finding]:
    """The findings of one check."""
    with connection.cursor() as cursor:
        cursor.execute(check.sql)
        rows = cursor.fetchall()
    for row_id, *values in rows:
        found = check.recompute(row_id, *values) if check.recompute else values
        if found is not None:
            yield Finding(check.invariant, check.table, row_id, check.sentence.format(*found))
