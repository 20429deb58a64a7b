"""What the hand-written twins share: a cursor, values as each database takes them, the head and the end of an act."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from django.db import connection

Rows = list[tuple[Any, ...]]


class Refused(Exception):
    """The twin makes the plain decision only; here something stands that needs more than it knows."""


def on_postgresql() -> bool:
    """Whether the database at hand is PostgreSQL."""
    return connection.vendor == "postgresql"


def rows(sql: str, parameters: Sequence[Any] = ()) -> Rows:
    """All rows of a statement."""
    with connection.cursor() as cursor:
        cursor.execute(sql, parameters)
        return list(cursor.fetchall())


def one(sql: str, parameters: Sequence[Any] = ()) -> tuple[Any, ...]:
    """The one row of a statement."""
    found = rows(sql, parameters)
    if len(found) != 1:
        raise Refused(f"{len(found)} rows where one was expected")
    return found[0]


def do(sql: str, parameters: Sequence[Any] = ()) -> int:
    """Run a statement; the number of rows it changed."""
    with connection.cursor() as cursor:
        cursor.execute(sql, parameters)
        return int(cursor.rowcount)


def values(count: int, width: int, kinds: Sequence[str] = ()) -> str:
    """`count` bracketed groups of placeholders; `kinds` casts them by place, where the database cannot guess."""
    marks = [f"CAST(%s AS {kinds[at]})" if at < len(kinds) and kinds[at] else "%s" for at in range(width)]
    return ", ".join(["(" + ", ".join(marks) + ")"] * count)


def flat(table: Sequence[Sequence[Any]]) -> list[Any]:
    """The values of all rows in a row."""
    return [value for row in table for value in row]


def marks(count: int) -> str:
    """Placeholders with commas."""
    return ", ".join(["%s"] * count)


def moment(value: datetime) -> datetime | str:
    """A moment as the database takes it."""
    return value if on_postgresql() else value.astimezone(UTC).replace(tzinfo=None).isoformat(" ")


def read_moment(value: Any) -> datetime | None:
    """A moment as the database gave it."""
    read = datetime.fromisoformat(value) if isinstance(value, str) else value
    return None if read is None else read if read.tzinfo else read.replace(tzinfo=UTC)


def read_date(value: Any) -> date | None:
    """A day as the database gave it."""
    return date.fromisoformat(value) if isinstance(value, str) else value


def read_json(value: Any) -> Any:
    """A document as the database gave it."""
    return json.loads(value) if isinstance(value, str) else value


def document(value: Any) -> str:
    """A document as both databases take it."""
    return json.dumps(value)


def json_kind() -> str:
    """What a document is cast to."""
    return "jsonb" if on_postgresql() else ""


def begin_act(kind: str, key: UUID, actor: int, at: datetime, subject: str, request: Mapping[str, Any]) -> int:
    """Lock and look up the key, write the head of the act; its id."""
    text = json.dumps([kind, actor, request], sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    stored = key if on_postgresql() else key.hex
    if on_postgresql():
        number = int.from_bytes(hashlib.sha256(key.bytes).digest()[:8], "big", signed=True)
        do("SELECT pg_advisory_xact_lock(%s)", [number])
    if rows("SELECT id FROM inventory_act WHERE key = %s", [stored]):
        raise Refused("the key was used")
    found = one(
        """INSERT INTO inventory_act (key, kind, actor_id, occurred_at, recorded_at, device, device_at, place_id, subject,
           reason, request_hash, corrects_id) VALUES (%s, %s, %s, %s, %s, '', NULL, NULL, %s, '', %s, NULL) RETURNING id""",
        [stored, kind, actor, moment(at), moment(at), subject, hashlib.sha256(text.encode()).hexdigest()],
    )
    return int(found[0])


def end_act(act: int, body: Mapping[str, Any]) -> None:
    """Store the outcome."""
    cast = values(1, 2, ("", json_kind()))
    do(f"INSERT INTO inventory_outcome (act_id, body) VALUES {cast}", [act, document(body)])


def job_for_update(where: str, parameters: Sequence[Any]) -> tuple[Any, ...]:
    """A booked job, locked: (id, number, version, site, fit on, cart, its spot, bench, its spot, engine number, family code,
    family map's revision). The condition may use `j` and `pl` (a pick list of the job)."""
    lock = " FOR UPDATE OF j" if on_postgresql() else ""
    return one(
        f"""SELECT j.id, j.number, j.version, j.site_id, j.fit_on, j.cart_id, c.id, j.bench_id, b.id, e.number, f.code,
                   r.revision
            FROM kits_job j JOIN kits_engine e ON e.id = j.engine_id JOIN kits_enginefamily f ON f.id = e.family_id
            JOIN kits_familyrevision r ON r.id = j.family_revision_id
            JOIN inventory_spot c ON c.place_id = j.cart_id AND c.name = '-'
            JOIN inventory_spot b ON b.place_id = j.bench_id AND b.name = '-'
            WHERE j.state = 'booked' AND {where}{lock}""",
        parameters,
    )


def lock_parts(site: int, parts: Sequence[int]) -> None:
    """The part-at-site rows, made where missing, locked in order."""
    if not on_postgresql():
        return
    wanted = sorted(set(parts))
    sql = "SELECT id FROM inventory_partatsite WHERE site_id = %s AND part_id = ANY(%s) ORDER BY id FOR UPDATE"
    if len(rows(sql, [site, wanted])) < len(wanted):
        do(
            "INSERT INTO inventory_partatsite (part_id, site_id) SELECT unnest(%s::bigint[]), %s ON CONFLICT DO NOTHING",
            [wanted, site],
        )
        rows(sql, [site, wanted])


def bump(job: int, version: int) -> None:
    """The job's version goes up by one."""
    do("UPDATE kits_job SET version = %s WHERE id = %s", [version + 1, job])


def move(act: int, at: datetime, moves: Sequence[tuple[int, int, int, int, int]]) -> None:
    """Movements and balances; (item, amount, from spot, to spot, of it held), each pair once."""
    do(
        f"INSERT INTO inventory_movement (act_id, item_id, amount, from_spot_id, to_spot_id) VALUES {values(len(moves), 5)}",
        flat([(act, item, amount, out, into) for item, amount, out, into, _ in moves]),
    )
    kinds = ("bigint",) * 4
    changed = do(
        f"""UPDATE inventory_balance SET amount = inventory_balance.amount - d.amount,
                held = inventory_balance.held - d.held, last_at = %s
            FROM (WITH v(item, spot, amount, held) AS (VALUES {values(len(moves), 4, kinds)}) SELECT * FROM v) AS d
            WHERE inventory_balance.item_id = d.item AND inventory_balance.spot_id = d.spot
             AND inventory_balance.last_at <= %s AND inventory_balance.amount >= d.amount
             AND inventory_balance.held >= d.held""",
        [moment(at), *flat([(item, out, amount, held) for item, amount, out, _, held in moves]), moment(at)],
    )
    if changed != len(moves):
        raise Refused("a balance does not hold enough, or was touched later")
    later = "GREATEST" if on_postgresql() else "MAX"
    do(
        f"""WITH d(item, spot, amount) AS (VALUES {values(len(moves), 3, kinds)})
            INSERT INTO inventory_balance (item_id, spot_id, place_id, part_id, amount, held, real, single, pickable, in_shop,
                                           last_at)
            SELECT i.id, s.id, p.id, i.part_id, d.amount, 0, p.real, i.single, p.kind = 'shelf' AND i.member = '',
                   p.real AND p.kind <> 'engine', {"CAST(%s AS timestamptz)" if on_postgresql() else "%s"}
            FROM d JOIN inventory_item i ON i.id = d.item JOIN inventory_spot s ON s.id = d.spot
            JOIN inventory_place p ON p.id = s.place_id WHERE true
            ON CONFLICT (item_id, spot_id) DO UPDATE SET amount = inventory_balance.amount + excluded.amount,
                last_at = {later}(inventory_balance.last_at, excluded.last_at)""",
        [*flat([(item, into, amount) for item, amount, _, into, _ in moves]), moment(at)],
    )
