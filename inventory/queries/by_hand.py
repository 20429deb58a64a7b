"""Reads written by hand in SQL, where composing the statement anew each time would cost more than running it."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import UTC, datetime
from typing import Any, TypeVar

from django.db import connection
from django.db.models import Model

from inventory.queries.withdrawn import WITHDRAWN

_Row = TypeVar("_Row", bound=Model)

#: Open stops of lots.
_STOPPED_LOTS = """SELECT t.lot_id FROM inventory_stop t LEFT JOIN inventory_free f ON f.stop_id = t.id
    WHERE t.lot_id IS NOT NULL AND f.stop_id IS NULL"""
_STOPPED_ITEMS = """SELECT t.item_id FROM inventory_stop t LEFT JOIN inventory_free f ON f.stop_id = t.id
    WHERE t.item_id IS NOT NULL AND f.stop_id IS NULL"""
#: A condition over the item `i`: it, its lot, the opened kit that it came out of (or the kit around that one), or a lot inside its
#: closed kit (or inside a kit in that kit) is stopped, or old stock of its number is withdrawn. The same as `inventory.queries.stock.stopped`.
STOPPED = f"""(i.part_id IN ({WITHDRAWN}) OR i.lot_id IN ({_STOPPED_LOTS})
    OR EXISTS (SELECT 1 FROM inventory_stop t LEFT JOIN inventory_free f ON f.stop_id = t.id
               WHERE t.item_id = i.id AND f.stop_id IS NULL)
    OR (i.from_kit_id IS NOT NULL AND EXISTS (SELECT 1 FROM inventory_item o LEFT JOIN inventory_item u ON u.id = o.from_kit_id
        WHERE o.id = i.from_kit_id AND (o.lot_id IN ({_STOPPED_LOTS}) OR u.lot_id IN ({_STOPPED_LOTS})
            OR o.id IN ({_STOPPED_ITEMS}) OR u.id IN ({_STOPPED_ITEMS}))))
    OR EXISTS (SELECT 1 FROM inventory_innerlot n WHERE n.kit_lot_id = i.lot_id AND (n.lot_id IN ({_STOPPED_LOTS})
               OR n.lot_id IN (SELECT k.kit_lot_id FROM inventory_innerlot k WHERE k.lot_id IN ({_STOPPED_LOTS})))))"""


def rows(sql: str, parameters: Sequence[Any] = ()) -> list[Any]:
    """All rows of a statement. Days come as dates; moments see `moment`; conditions as truth values of either database."""
    with connection.cursor() as cursor:
        cursor.execute(sql, parameters)
        found: list[Any] = cursor.fetchall()
    return found


def objects(model: type[_Row], column: str, values: Collection[Any], leave: Collection[str] = ()) -> list[_Row]:
    """Rows of a table as its objects, those with one of the values in a column. One query, none for no value.

    leave   fields that are read when they are asked for
    """
    if not values:
        return []
    names = [field.attname for field in model._meta.concrete_fields if field.attname not in leave]
    sql = f"SELECT {', '.join(names)} FROM {model._meta.db_table} WHERE {column} IN ({marks(len(values))})"
    return list(model._default_manager.raw(sql, [*values]))


def marks(count: int) -> str:
    """Placeholders for a list of values, commas between."""
    return ", ".join(["%s"] * count)


def moment(value: Any) -> Any:
    """A moment (or nothing) as the database gave it; SQLite leaves the zone away, which is UTC."""
    return value.replace(tzinfo=UTC) if isinstance(value, datetime) and value.tzinfo is None else value
