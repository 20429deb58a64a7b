"""The one place that opens a write transaction.

A public service function builds its request and calls `run`. Here the durable transaction is opened, the key is locked and
looked up, the act is written, the service's own work is done, one piece is kept of what it laid on shelves where the shop does that, and its outcome is kept. A refusal by a rule rolls everything
back and is then recorded in a transaction of its own: a shop wants to know who tried what. Both are tried twice
more after a deadlock or when the database was busy.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any, TypeVar
from uuid import UUID

from django.db import DEFAULT_DB_ALIAS, OperationalError, connection, transaction

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.models import Act, Outcome, Person, Place, Refusal
from inventory.queries import by_hand
from inventory.services import things
from inventory.services.keeping import keep_of_arrivals
from inventory.services.rows import adapted, insert

Body = dict[str, Any]
_Answer = TypeVar("_Answer")
RETRIES = 2
_PLAIN = frozenset({str, int, bool, float})


@dataclass(frozen=True, slots=True)
class Stamp:
    """Which act this is, and when: made at the edge, never inside.

    key           UUID made by the caller; the same key is the same act
    occurred_at   aware datetime, true since
    recorded_at   aware datetime, known since
    device, device_at   name and clock of the device, if the act was sent later
    """

    key: UUID
    occurred_at: datetime
    recorded_at: datetime
    device: str = ""
    device_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Done:
    """What a service answers: the act's id and key, its stored outcome, and whether it was an answer given before."""

    act_id: int
    key: UUID
    body: Body
    replayed: bool


def plain(value: Any) -> Any:
    """A value as JSON can hold it: dates in ISO form, fractions as text, sets sorted."""
    if value is None or type(value) in _PLAIN:  # nearly everything: an outcome has thousands of values
        return value
    if type(value) is list:
        return [plain(inner) for inner in value]
    if type(value) is dict or isinstance(value, Mapping):
        return {str(name): plain(inner) for name, inner in value.items()}
    if isinstance(value, set | frozenset):
        return sorted(plain(inner) for inner in value)
    if isinstance(value, list | tuple):
        return [plain(inner) for inner in value]
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, Decimal | Fraction | UUID):
        return str(value)
    return value


def request_hash(kind: str, actor_id: int, request: Mapping[str, Any]) -> str:
    """SHA-256 over the canonical form of what was asked, by whom."""
    text = json.dumps([kind, actor_id, plain(request)], sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def run(
    kind: str,
    work: Callable[[Act], Body],
    *,
    actor: Person,
    stamp: Stamp,
    request: Mapping[str, Any],
    place: Place | str | None = None,
    subject: str = "",
    reason: str = "",
    corrects: Act | None = None,
) -> Done:
    """Do one act in one durable transaction, once for each key.

    place  the place of the act, or its code: that is looked up here ("not-found"), and `things.place_of` has it for the work
    `work` gets the written act header, locks, decides, writes and returns the outcome (JSON-ready).
    Raises DomainError: "key-reused" for the same key with other content, and whatever `work` raises; the refusal is kept.
    """
    digest = request_hash(kind, actor.pk, request)

    def once() -> Done:
        with transaction.atomic(durable=True):
            return _once(kind, work, actor, stamp, digest, place, subject, reason, corrects)

    try:
        return patiently(once)
    except DomainError as error:
        refused = error
        patiently(lambda: _record_refusal(kind, actor, stamp, subject, refused))
        raise


def in_one(work: Callable[[], _Answer]) -> _Answer:
    """Do the work in one durable transaction that is no act of the books: what it writes is a cache."""

    def once() -> _Answer:
        with transaction.atomic(durable=True):
            return work()

    return patiently(once)


def patiently(once: Callable[[], _Answer]) -> _Answer:
    """Do a whole transaction; twice more where the database was busy or saw a deadlock."""
    attempt = 0
    while True:
        try:
            return once()
        except OperationalError as error:
            attempt += 1
            if attempt > RETRIES or not _worth_a_retry(error):
                raise


def _once(
    kind: str,
    work: Callable[[Act], Body],
    actor: Person,
    stamp: Stamp,
    digest: str,
    place: Place | str | None,
    subject: str,
    reason: str,
    corrects: Act | None,
) -> Done:
    locks.key(stamp.key)
    if by_hand.rows(f"SELECT id FROM {Act._meta.db_table} WHERE key = %s", [adapted(stamp.key)]):
        earlier = Act.objects.select_related("outcome").get(key=stamp.key)
        if earlier.request_hash != digest:
            raise DomainError(
                "key-reused",
                f"The key {stamp.key} was used for another act ({earlier.kind}); use a new key for a new act.",
                key=str(stamp.key),
                earlier_act=earlier.pk,
                earlier_kind=earlier.kind,
            )
        return Done(earlier.pk, stamp.key, earlier.outcome.body, replayed=True)
    if stamp.occurred_at > stamp.recorded_at:
        raise DomainError(
            "from-the-future",
            f"{stamp.occurred_at.isoformat()} has not happened yet.",
            occurred_at=stamp.occurred_at.isoformat(),
        )
    there = things.place(place) if isinstance(place, str) else place
    act = _header(kind, actor, stamp, digest, there, subject, reason, corrects)
    body = plain({**work(act), **keep_of_arrivals(act)})
    insert(Outcome._meta.db_table, ("act_id", "body"), [(act.pk, body)])
    return Done(act.pk, stamp.key, body, replayed=False)


def _header(
    kind: str,
    actor: Person,
    stamp: Stamp,
    digest: str,
    place: Place | None,
    subject: str,
    reason: str,
    corrects: Act | None,
) -> Act:
    """The act, written."""
    act = Act(
        key=stamp.key,
        kind=kind,
        actor=actor,
        occurred_at=stamp.occurred_at,
        recorded_at=stamp.recorded_at,
        device=stamp.device,
        device_at=stamp.device_at,
        place=place,
        subject=subject[:80],
        reason=reason,
        request_hash=digest,
        corrects=corrects,
    )
    columns = [field.attname for field in Act._meta.concrete_fields if not field.primary_key]
    (act.pk,) = insert(Act._meta.db_table, columns, [[getattr(act, name) for name in columns]], returning="id")
    act._state.adding, act._state.db = False, DEFAULT_DB_ALIAS
    return act


def _record_refusal(kind: str, actor: Person, stamp: Stamp, subject: str, error: DomainError) -> None:
    with transaction.atomic():
        Refusal.objects.create(
            key=stamp.key,
            kind=kind,
            actor=actor,
            recorded_at=stamp.recorded_at,
            subject=subject[:80],
            code=error.code,
            message=_storable(error.message),
            values=_storable(plain(error.values)),
        )


def _storable(value: Any) -> Any:
    """NUL cannot be stored by PostgreSQL and lone surrogates by neither: shown as escapes, so the refusal itself is kept."""
    if isinstance(value, str):
        return value.replace("\0", "\\0").encode("utf-8", "backslashreplace").decode()
    if isinstance(value, dict):
        return {_storable(name): _storable(inner) for name, inner in value.items()}
    if isinstance(value, list):
        return [_storable(inner) for inner in value]
    return value


def _worth_a_retry(error: OperationalError) -> bool:
    """A deadlock or serialization failure on PostgreSQL, a busy file on SQLite."""
    if connection.vendor == "postgresql":
        return getattr(error.__cause__, "sqlstate", "") in {"40P01", "40001"}
    return "locked" in str(error) or "busy" in str(error)
