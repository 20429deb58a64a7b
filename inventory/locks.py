"""The only place that locks.

Order, always: the key, then jobs, then engines, then the part-at-site rows of all that gets scarcer, then single items, then
the balances that are taken from; each group sorted by id, all taken before anything is checked. SQLite needs none of it: its
IMMEDIATE transactions let one writer in at a time.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from datetime import UTC, datetime
from typing import NamedTuple
from uuid import UUID

from django.db import connection
from django.db.models import QuerySet

from inventory.models import Balance, Item, PartAtSite


def _on_postgresql() -> bool:
    return connection.vendor == "postgresql"


def _require_transaction() -> None:
    if not connection.in_atomic_block:
        raise RuntimeError("locks are taken inside the one transaction of a service")


def key(value: UUID) -> None:
    """Serialise all requests that carry the same key; held until the transaction ends."""
    _require_transaction()
    if _on_postgresql():
        number = int.from_bytes(hashlib.sha256(value.bytes).digest()[:8], "big", signed=True)
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [number])


def name(kind: str, value: str) -> None:
    """Serialise everybody who works on one named thing that has no row of its own yet, such as a job being booked."""
    _require_transaction()
    if _on_postgresql():
        number = int.from_bytes(hashlib.sha256(f"{kind}\0{value}".encode()).digest()[:8], "big", signed=True)
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [number])


def row(table: str, ids: Iterable[int]) -> None:
    """Lock rows of a table by id, sorted: how `kits` locks its jobs without this module knowing them."""
    _require_transaction()
    wanted = sorted(set(ids))
    if wanted and _on_postgresql():
        with connection.cursor() as cursor:
            cursor.execute(
                f"SELECT id FROM {connection.ops.quote_name(table)} WHERE id = ANY(%s) ORDER BY id FOR UPDATE", [wanted]
            )


def scarcer(part_sites: Iterable[tuple[int, int]], items: Iterable[int] = ()) -> None:
    """Lock the (part id, site id) rows of everything that gets scarcer, then single items by id.

    Missing part-at-site rows are made first, so two people who are the first to touch a part at a site meet here too.
    """
    _require_transaction()
    pairs = sorted(set(part_sites))
    if pairs and _on_postgresql():
        parts, sites = [pair[0] for pair in pairs], [pair[1] for pair in pairs]
        locked = _lock_pairs(parts, sites)
        if locked < len(pairs):
            PartAtSite.objects.bulk_create(
                [PartAtSite(part_id=part, site_id=site) for part, site in pairs], ignore_conflicts=True
            )
            _lock_pairs(parts, sites)
    singles = sorted(set(items))
    if singles and _on_postgresql():
        list(Item.objects.select_for_update().filter(pk__in=singles).order_by("pk").values_list("pk", flat=True))


#: How balances are locked on PostgreSQL: nobody refers to them, so a key that stays is locked no harder than that.
TAKEN = "FOR NO KEY UPDATE"


class Standing(NamedTuple):
    """What a locked balance says: amount and held in base units, and when it was last touched."""

    item_id: int
    spot_id: int
    amount: int
    held: int
    last_at: datetime


def balances(pairs: Iterable[tuple[int, int]]) -> list[Balance]:
    """Lock and read the balances at these (item id, spot id), last of all and sorted: what is read cannot change any more."""
    wanted = set(pairs)
    return [row for row in _balances(wanted) if (row.item_id, row.spot_id) in wanted] if wanted else []


def standings(pairs: Iterable[tuple[int, int]]) -> list[Standing]:
    """As `balances`, only what a posting looks at: a kit has hundreds."""
    wanted = set(pairs)
    if not wanted:
        return []
    _require_transaction()
    items, spots = {item for item, _ in wanted}, {spot for _, spot in wanted}
    lock = f" ORDER BY item_id, spot_id {TAKEN}" if _on_postgresql() else ""
    marks = [", ".join(["%s"] * len(group)) for group in (items, spots)]
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT item_id, spot_id, amount, held, last_at FROM inventory_balance"
            f" WHERE item_id IN ({marks[0]}) AND spot_id IN ({marks[1]}){lock}",
            [*items, *spots],
        )
        found = cursor.fetchall()
    # SQLite leaves the zone away, which is UTC.
    return [
        Standing(item, spot, amount, held, at if at.tzinfo else at.replace(tzinfo=UTC))
        for item, spot, amount, held, at in found
        if (item, spot) in wanted
    ]


def _balances(wanted: set[tuple[int, int]]) -> QuerySet[Balance]:
    _require_transaction()
    rows = Balance.objects.filter(item_id__in={item for item, _ in wanted}, spot_id__in={spot for _, spot in wanted})
    if _on_postgresql():
        rows = rows.select_for_update(no_key=True).order_by("item_id", "spot_id")
    return rows


def _lock_pairs(parts: list[int], sites: list[int]) -> int:
    table = connection.ops.quote_name(PartAtSite._meta.db_table)
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT t.id FROM {table} t JOIN unnest(%s::bigint[], %s::bigint[]) AS w(part, site)"
            " ON t.part_id = w.part AND t.site_id = w.site ORDER BY t.id FOR UPDATE OF t",
            [parts, sites],
        )
        return len(cursor.fetchall())
