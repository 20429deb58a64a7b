"""How the race tests make two people meet: with the locks as they are, and, as the control, with none.

A race test proves nothing until the same race without locks goes wrong. Without locks means: PostgreSQL takes none, and
SQLite commits every statement by itself (its deferred transactions still let one writer in at a time and cannot oversell).
The people wait for each other between the check and the write, so the control does not rest on luck.
"""

from __future__ import annotations

import threading
from collections import Counter
from collections.abc import Callable, Sequence
from pkgutil import resolve_name
from typing import Any

import pytest
from django.db import DatabaseError, IntegrityError
from django.db.backends.sqlite3.base import DatabaseWrapper as SqliteConnection

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.services import run as run_module
from inventory.services.run import Done
from tests.databases import Ended, on_postgresql, together

#: Longest that one waits for the others; a test that comes near it fails.
PATIENCE_S = 20.0
#: How long somebody who holds the locks is watched while another wants them.
WATCHED_S = 0.25

LOCKS = ("key", "name", "row", "scarcer")


def no_locks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Switch all locking off, for the control."""
    for name in LOCKS:
        monkeypatch.setattr(locks, name, lambda *ignored, **also_ignored: None)
    if on_postgresql():
        monkeypatch.setattr("django.db.models.query.QuerySet.select_for_update", lambda self, **ignored: self.all())
        monkeypatch.setattr(locks, "TAKEN", "")
    else:
        monkeypatch.setattr(SqliteConnection, "_start_transaction_under_autocommit", lambda self: None)


def meet_before(monkeypatch: pytest.MonkeyPatch, target: str, people: int) -> None:
    """Everybody who comes to this function waits there for the others: all have checked, nobody has written."""
    meeting = threading.Barrier(people)
    real = resolve_name(target)

    def met(*arguments: Any, **named: Any) -> Any:
        meeting.wait(PATIENCE_S)
        return real(*arguments, **named)

    monkeypatch.setattr(target, met)


class Halfway:
    """One person stops at a function, between the check and the write, until another has ended (or is seen to wait).

    overtaken   True if the other ended while the first stood still
    """

    def __init__(self, monkeypatch: pytest.MonkeyPatch, target: str, watched_s: float = WATCHED_S) -> None:
        self._stands, self._ended, self._first = threading.Event(), threading.Event(), threading.local()
        self.overtaken = False
        real = resolve_name(target)

        def stop(*arguments: Any, **named: Any) -> Any:
            if getattr(self._first, "yes", False) and not self._stands.is_set():
                self._stands.set()
                self.overtaken = self._ended.wait(watched_s)
            return real(*arguments, **named)

        monkeypatch.setattr(target, stop)

    def race(self, first: Callable[[], Any], second: Callable[[], Any]) -> tuple[Ended, Ended]:
        """`second` starts when `first` stands at the function; how each ended."""

        def one() -> Any:
            self._first.yes = True
            return first()

        def other() -> Any:
            if not self._stands.wait(PATIENCE_S):
                raise RuntimeError("the first never came to where it should stop")
            try:
                return second()
            finally:
                self._ended.set()

        ended = together([one, other])
        return ended[0], ended[1]


def answers(ended: Sequence[Ended]) -> list[Done]:
    """The outcomes of those who got one."""
    return [one.answer for one in ended if one.error is None]


def refusals(ended: Sequence[Ended]) -> list[str]:
    """The codes of those whom a rule refused (in a batch: of its first line), sorted; any other error is raised as it is."""
    codes = []
    for one in ended:
        if one.error is None:
            continue
        if not isinstance(one.error, DomainError):
            raise one.error
        codes.append(one.error.code)
    return sorted(codes)


def damaged(ended: Sequence[Ended]) -> int:
    """How many ran into a constraint of the database: what the locks are there to prevent."""
    strange = [
        one.error for one in ended if one.error is not None and not isinstance(one.error, DatabaseError | DomainError)
    ]
    if strange:
        raise strange[0]
    return sum(isinstance(one.error, IntegrityError) for one in ended)


def retries_seen(monkeypatch: pytest.MonkeyPatch) -> Counter[bool]:
    """Counts the database errors that `run` looked at: those worth another try (True), and others (False)."""
    seen: Counter[bool] = Counter()
    real = run_module._worth_a_retry

    def look(error: Any) -> bool:
        worth = real(error)
        seen[worth] += 1
        return worth

    monkeypatch.setattr(run_module, "_worth_a_retry", look)
    return seen
