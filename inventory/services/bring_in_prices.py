"""How price lists are booked: the newest word on each part that a supplier sells. Private to services.

A list is laid out beside the books, before the transaction that books it (`lay_out`), in a table that only this connection sees: one row for
each part of a supplier, whatever the list says of it twice. Booking is two statements over it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from django.db import connection

from inventory.domain.import_rows import Verdict
from inventory.models import Act, ImportFile, ImportRow, SupplierPart
from inventory.queries import by_hand
from inventory.queries.imports import value_sql
from inventory.services.rows import insert
from inventory.services.run import Body

_LAID_OUT = "import_prices"
#: Field of what a supplier sells -> (column of a price list, what it is where nobody ever said).
_TERMS = {
    "number": ("their number", "''"),
    "pack": ("pack", "1"),
    "least_order": ("least order", "1"),
    "price_coins": ("price", "NULL"),
    "lead_days": ("lead days", "NULL"),
    "express_days": ("express days", "NULL"),
    "express_coins": ("express price", "NULL"),
    "send_back_days": ("send back days", "NULL"),
}
_TABLE = SupplierPart._meta.db_table


def lay_out(file: ImportFile) -> None:
    """Lay out what a list says of each part of a supplier. No transaction is needed."""
    terms = [
        f"{value_sql(column)} AS {name}" if name == "number" else f"CAST({value_sql(column)} AS bigint) AS {name}"
        for name, (column, _) in _TERMS.items()
    ]
    _run(f"DROP TABLE IF EXISTS {_LAID_OUT}")
    _run(
        f"CREATE TEMPORARY TABLE {_LAID_OUT} AS SELECT r.line, s.id AS supplier_id, p.id AS part_id, {', '.join(terms)}"
        f" FROM inventory_importrow r JOIN inventory_supplier s ON s.code = {value_sql('supplier')}"
        f" JOIN inventory_part p ON p.number = {value_sql('part')}"
        f" WHERE r.file_id = {int(file.pk)} AND r.verdict = '{Verdict.ACCEPTED.value}' AND NOT r.known"
    )
    _fold()


def _fold() -> None:
    """Of a part that the list names twice, each column's last word counts, in the order of the list."""
    twice = f"""(SELECT supplier_id, part_id FROM {_LAID_OUT} GROUP BY supplier_id, part_id HAVING COUNT(*) > 1)"""
    names = ("line", "supplier_id", "part_id", *_TERMS)
    rows = by_hand.rows(
        f"SELECT {', '.join(names)} FROM {_LAID_OUT} WHERE (supplier_id, part_id) IN {twice} ORDER BY line"
    )
    if not rows:
        return
    folded: dict[tuple[int, int], Sequence[Any]] = {}
    for row in rows:
        before = folded.get((row[1], row[2]), row)
        folded[row[1], row[2]] = [was if now is None else now for was, now in zip(before, row, strict=True)]
    _run(f"DELETE FROM {_LAID_OUT} WHERE (supplier_id, part_id) IN {twice}")
    insert(_LAID_OUT, names, [tuple(row) for row in folded.values()])


def _run(sql: str) -> int:
    with connection.cursor() as cursor:
        cursor.execute(sql)
        return int(cursor.rowcount)


def _prices(act: Act, file: ImportFile) -> Body:
    """What a list does not say of a part stays as it was said before."""
    said = ", ".join(f"{name} = COALESCE(r.{name}, {_TABLE}.{name})" for name in _TERMS)
    _run(
        f"UPDATE {_TABLE} SET {said} FROM {_LAID_OUT} r"
        f" WHERE {_TABLE}.supplier_id = r.supplier_id AND {_TABLE}.part_id = r.part_id"
    )
    terms = ", ".join(f"COALESCE(r.{name}, {otherwise})" for name, (_, otherwise) in _TERMS.items())
    _run(
        f"INSERT INTO {_TABLE} (supplier_id, part_id, {', '.join(_TERMS)})"
        f" SELECT r.supplier_id, r.part_id, {terms} FROM {_LAID_OUT} r WHERE true ORDER BY r.line"
        " ON CONFLICT (supplier_id, part_id) DO NOTHING"
    )
    rows = ImportRow.objects.filter(file=file, verdict=Verdict.ACCEPTED, known=False)
    return {"prices": rows.count()}


BOOK: Mapping[str, Callable[[Act, ImportFile], Body]] = {"prices": _prices}
