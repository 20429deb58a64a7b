"""How tables of lots are booked, with the expiry that their dates give. Private to services.

Each expiry is worked out beside the books, before the transaction that books them (`lay_out`), in a table that only this connection sees:
a hundred thousand of them take longer than others should wait. Booking is one statement over it. What was laid out is laid out anew
where the shop's rules, the day or a part changed since.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from django.db import connection

from inventory.domain.shelf_life import Expiry, LotDates, expiry, parse_cure_code
from inventory.domain.spelling import label_key
from inventory.models import Act, ImportFile, Lot, Part, Supplier
from inventory.queries import by_hand
from inventory.queries.days import shop_day
from inventory.queries.shop import Shop, shop
from inventory.services.bring_in_booking import chunks, parts_of
from inventory.services.rows import insert
from inventory.services.run import Body

_LAID_OUT = "import_lots"
#: Columns of a lot, in the order in which they are laid out and booked.
_COLUMNS = {
    "part_id": "bigint",
    "code": "text",
    "compare_key": "text",
    "cure_code": "text",
    "made_on": "date",
    "printed_on": "date",
    "received_on": "date",
    "expires_on": "date",
    "expiry_rule": "text",
    "extension_years": "integer",
    "supplier_id": "bigint",
}


def lay_out(file: ImportFile, today: date) -> None:
    """Work out the lots of a table as they would be booked on a day. No transaction is needed."""
    typed = ", ".join(f"{name} {kind}" for name, kind in _COLUMNS.items())
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TABLE IF EXISTS {_LAID_OUT}")
        cursor.execute(f"CREATE TEMPORARY TABLE {_LAID_OUT} (line integer, version bigint, ruled text, {typed})")
    its = shop()
    ruled, line = _ruled(its, today), 0
    suppliers = {one.code: one.pk for one in Supplier.objects.all()}
    for rows in chunks(file):
        parts = parts_of(rows)
        laid = []
        for row in rows:
            line += 1
            part = parts[row["part"]]
            lot = _lot(part, row, its, today)
            lot.supplier_id = suppliers.get(row.get("supplier") or "")
            laid.append((line, part.version, ruled, *(getattr(lot, name) for name in _COLUMNS)))
        insert(_LAID_OUT, ("line", "version", "ruled", *_COLUMNS), laid)


def _ruled(its: Shop, today: date) -> str:
    """What the expiries rest on, beside the parts."""
    return hashlib.sha256(f"{its} {today}".encode()).hexdigest()


def _lots(act: Act, file: ImportFile) -> Body:
    """Lots with the expiry that their dates give by the shop's rules; without a date a lot with a life counts as out of date."""
    today = shop_day(act.occurred_at)
    sql = f"""SELECT 1 FROM {_LAID_OUT} r JOIN inventory_part p ON p.id = r.part_id
        WHERE r.ruled <> %s OR r.version <> p.version LIMIT 1"""
    if by_hand.rows(sql, [_ruled(shop(), today)]):
        lay_out(file, today)
    names = ", ".join(_COLUMNS)
    with connection.cursor() as cursor:
        cursor.execute(f"INSERT INTO inventory_lot ({names}) SELECT {names} FROM {_LAID_OUT} ORDER BY line")
        made = int(cursor.rowcount)
    ((undated,),) = by_hand.rows(f"SELECT COUNT(*) FROM {_LAID_OUT} WHERE expires_on IS NULL")
    return {"lots": made, "without_an_expiry": undated}


def _lot(part: Part, row: Mapping[str, Any], its: Shop, today: date) -> Lot:
    """A lot with the expiry that its dates give, or as the table states it where that names its rule too."""
    lot = Lot(
        part=part,
        code=row["lot"],
        compare_key=label_key(row["lot"]),
        printed_on=_day(row, "printed"),
        cure_code=row.get("cured") or "",
        made_on=_day(row, "made on"),
        received_on=_day(row, "received on"),
    )
    if row.get("expiry rule"):
        lot.expires_on, lot.expiry_rule = _day(row, "expires on"), row["expiry rule"][:200]
        lot.extension_years = row.get("extension years") or 0
        return lot
    rule = its.life_of(part)
    cure = parse_cure_code(row["cured"], latest=today) if row.get("cured") else None
    found = expiry(rule, LotDates(cure, lot.made_on, lot.printed_on), its.basis)
    if isinstance(found, Expiry):
        lot.expires_on, lot.expiry_rule, lot.extension_years = found.day, found.rule[:200], rule.extension_years
    else:
        lot.expiry_rule = found.reason[:200]
    return lot


def _day(row: Mapping[str, Any], name: str) -> date | None:
    return date.fromisoformat(row[name]) if row.get(name) else None


BOOK: Mapping[str, Callable[[Act, ImportFile], Body]] = {"lots": _lots}
