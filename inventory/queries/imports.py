"""Tables that are brought in: what is on record of what their rows name, and what was found in them."""

from __future__ import annotations

import base64
import zlib
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from typing import Any

from django.db import connection
from django.db.models import Count, F, Q, QuerySet

from inventory.domain.errors import DomainError
from inventory.domain.import_kinds import LABELLED, Kind
from inventory.domain.import_rows import Judged, Verdict
from inventory.domain.items import identity
from inventory.models import (
    Balance,
    ImportAnswer,
    ImportBooked,
    ImportFile,
    ImportRow,
    Lot,
    MatchedSet,
    Part,
    Supplier,
    SupplierPart,
)
from inventory.models.looks import look_sql
from inventory.queries import by_hand

#: SQLite takes 32,766 parameters in a statement.
_CHUNK = 10_000
#: How many rows of a page are shown at most.
MOST_SHOWN = 500


_Rows = Mapping[int, Mapping[str, Any]]
#: Values of rows by position -> what is on record of each one's thing, by the row's columns; rows of new things are left out.
OnRecord = Callable[[_Rows], dict[int, Mapping[str, Any]]]


def on_record(told: OnRecord, judged: Sequence[Judged]) -> dict[int, Mapping[str, Any]]:
    """Position in `judged` -> what is on record of the row's thing."""
    return told({at: one.values for at, one in enumerate(judged) if one.verdict is not Verdict.REFUSED})


def _parts(rows: _Rows) -> dict[int, Mapping[str, Any]]:
    found = {
        part.number: {
            "name": part.name,
            "unit": part.unit,
            "kind": part.kind,
            "tracked by": part.tracked_by,
            "shop number": part.shop_number,
            "compound": part.compound,
            "weight_mg": part.weight_mg,
            "pack": part.pack,
            "price": part.price_coins,
            "lubricant": part.lubricant,
            "life": part.life,
            "ring": part.ring,
            "label window": part.label_window,
            "storage": part.storage,
            "packed_ul": part.packed_ul,
            "net_ul": part.net_ul,
            "empty_mg": part.empty_mg,
            "density mg per mL": part.density_mg_per_ml,
            "hazard note": part.hazard_note,
            "storage note": part.storage_note,
        }
        for part in in_chunks(Part.objects.all(), "number", (row.get("number") for row in rows.values()))
    }
    return {at: found[row["number"]] for at, row in rows.items() if row.get("number") in found}


def _suppliers(rows: _Rows) -> dict[int, Mapping[str, Any]]:
    found = {
        one.code: {"name": one.name, "send back days": one.send_back_days, "facts": one.facts}
        for one in in_chunks(Supplier.objects.all(), "code", (row.get("code") for row in rows.values()))
    }
    return {at: found[row["code"]] for at, row in rows.items() if row.get("code") in found}


def _prices(rows: _Rows) -> dict[int, Mapping[str, Any]]:
    sold = SupplierPart.objects.select_related("supplier", "part")
    found = {
        (one.supplier.code, one.part.number): {
            "their number": one.number,
            "price": one.price_coins,
            "pack": one.pack,
            "least order": one.least_order,
            "lead days": one.lead_days,
            "express days": one.express_days,
            "express price": one.express_coins,
            "send back days": one.send_back_days,
        }
        for one in in_chunks(sold, "part__number", (row.get("part") for row in rows.values()))
    }
    keys = {at: (row.get("supplier"), row.get("part")) for at, row in rows.items()}
    return {at: found[key] for at, key in keys.items() if key in found}


def _lots(rows: _Rows) -> dict[int, Mapping[str, Any]]:
    lots = Lot.objects.select_related("part", "supplier")
    found = {
        (lot.part.number, lot.code): {
            "cured": lot.cure_code,
            "made on": lot.made_on.isoformat() if lot.made_on else None,
            "printed": lot.printed_on.isoformat() if lot.printed_on else None,
            "counted": lot.expires_on.isoformat() if lot.expires_on else None,
            "received on": lot.received_on.isoformat() if lot.received_on else None,
            "supplier": lot.supplier.code if lot.supplier else "",
        }
        for lot in in_chunks(lots, "code", (row.get("lot") for row in rows.values()))
    }
    keys = {at: (row.get("part"), row.get("lot")) for at, row in rows.items()}
    return {at: found[key] for at, key in keys.items() if key in found}


def _stock(rows: _Rows) -> dict[int, Mapping[str, Any]]:
    """What stands where a row says; of a thing with a serial, where it stands."""
    balances = Balance.objects.filter(amount__gt=0, real=True).select_related("item", "part", "place", "spot")
    found: dict[tuple[Any, ...], Mapping[str, Any]] = {}
    for one in in_chunks(balances, "part__number", (row.get("part") for row in rows.values())):
        what, where = (one.part.number, one.item.identity), (one.place.code, one.spot.name)
        if one.item.single:
            found[what] = {"base_amount": one.amount, "place": where[0], "spot": where[1]}
        else:
            found[what + where] = {"base_amount": one.amount}
    told = {}
    for at, row in rows.items():
        what = (row.get("part"), item_identity(row))
        its = found.get(what) or found.get((*what, row.get("place"), row.get("spot")))
        if its is not None:
            told[at] = its
    return told


def _sets(rows: _Rows) -> dict[int, Mapping[str, Any]]:
    sets = MatchedSet.objects.select_related("serial__part")
    found = {
        (one.serial.part.number, one.serial.number): one
        for one in in_chunks(sets, "serial__number", (row.get("serial") for row in rows.values()))
    }
    stands = {
        one.item.serial_id: one.place.code
        for one in in_chunks(
            Balance.objects.filter(amount__gt=0, real=True, item__member="").select_related("item", "place"),
            "item__serial_id",
            (one.pk for one in found.values()),
        )
    }
    told: dict[int, Mapping[str, Any]] = {}
    for at, row in rows.items():
        one = found.get((row.get("part", ""), row.get("serial", "")))
        if one is not None:
            told[at] = {
                "place": stands.get(one.pk, "nowhere"),
                "weight_mg": one.weight_mg,
                "weighed": one.weighed,
                "bore_nm": one.bore_nm,
                "piston_nm": one.piston_nm,
                "grade": one.grade,
            }
    return told


ON_RECORD: Mapping[str, OnRecord] = {
    "parts": _parts,
    "suppliers": _suppliers,
    "prices": _prices,
    "lots": _lots,
    "stock": _stock,
    "sets": _sets,
}


def item_identity(row: Mapping[str, Any]) -> str:
    """The identity of the item that a row of stock or of sets speaks of."""
    return identity(lot=str(row.get("lot") or ""), serial=str(row.get("serial") or ""))


def in_chunks(rows: QuerySet[Any], field: str, values: Iterable[Any]) -> Iterable[Any]:
    """Rows with one of the values, in statements that are not too long."""
    wanted = sorted({value for value in values if value is not None})
    for start in range(0, len(wanted), _CHUNK):
        yield from rows.filter(**{f"{field}__in": wanted[start : start + _CHUNK]})


def import_file(file_id: int) -> ImportFile:
    """The file of an import; DomainError "not-found"."""
    found = ImportFile.objects.select_related("act__actor").filter(pk=file_id).first()
    if found is None:
        raise DomainError("not-found", f"No table {file_id} was brought in.", table=file_id)
    return found


def import_files() -> QuerySet[ImportFile]:
    """All tables that were brought in, with the act that booked each as `booked_by`, without their files."""
    return ImportFile.objects.annotate(booked_by=F("booked__act_id")).defer("packed", "evidence")


def pack(content: bytes) -> str:
    """A file as text that any database and any backup keeps: deflated, in base 64."""
    return base64.b64encode(zlib.compress(content)).decode()


def content_of(file: ImportFile) -> bytes:
    """The file as it came."""
    return zlib.decompress(base64.b64decode(file.packed))


def read_until(file_id: int) -> int:
    """Row number of the last row that was read; 0 for none."""
    last = ImportRow.objects.filter(file_id=file_id).order_by("-line").values_list("line", flat=True).first()
    return last or 0


def first_rows(file_id: int, keys: Collection[str]) -> dict[str, ImportRow]:
    """Key -> the first row about it that was not refused."""
    rows: dict[str, ImportRow] = {}
    for row in in_chunks(ImportRow.objects.filter(file_id=file_id).exclude(verdict=Verdict.REFUSED), "key", keys):
        if row.key not in rows or row.line < rows[row.key].line:
            rows[row.key] = row
    return rows


def answers_of(file_id: int, lines: Collection[int] | None = None) -> dict[int, dict[str, str]]:
    """Line -> column -> what was said last."""
    rows = ImportAnswer.objects.filter(file_id=file_id)
    if lines is not None:
        rows = rows.filter(line__gte=min(lines, default=0), line__lte=max(lines, default=0))
    said: dict[int, dict[str, str]] = {}
    for line, column, text in rows.order_by("act_id", "pk").values_list("line", "column", "said"):
        said.setdefault(line, {})[column] = text
    return said


def summary(file: ImportFile) -> dict[str, Any]:
    """How far an import is. accepted + questioned + refused = read; questions by code. Three queries."""
    rows = ImportRow.objects.filter(file=file)
    found = rows.aggregate(
        read=Count("pk"),
        accepted=Count("pk", filter=Q(verdict=Verdict.ACCEPTED)),
        questioned=Count("pk", filter=Q(verdict=Verdict.QUESTIONED)),
        refused=Count("pk", filter=Q(verdict=Verdict.REFUSED)),
        known=Count("pk", filter=Q(known=True)),
    )
    booked = ImportBooked.objects.filter(file=file).first()
    earlier = ImportFile.objects.filter(sha256=file.sha256, pk__lt=file.pk).order_by("pk").first()
    return {
        "import": file.pk,
        "kind": file.kind,
        "name": file.name,
        "read_as": file.read_as,
        "sha256": file.sha256,
        "brought_by": file.act.actor.username,
        "brought_at": file.act.recorded_at,
        "unknown_headings": [
            heading for heading, column in zip(file.headings, file.columns, strict=True) if not column and heading
        ],
        "rows": file.rows_in,
        **found,
        "booked": booked.act_id if booked else None,
        "same_file_before": earlier.pk if earlier else None,
    }


def rows_of(file_id: int, verdict: str = "", after: int = 0, most: int = MOST_SHOWN) -> list[dict[str, Any]]:
    """Rows with what was found, in the order of the file; those behind row `after`."""
    rows = ImportRow.objects.filter(file_id=file_id, line__gt=after).order_by("line")
    if verdict:
        rows = rows.filter(verdict=verdict)
    return [
        {
            "row": row.line,
            "verdict": row.verdict,
            "known": row.known,
            "cells": {name: cell[0] for name, cell in row.cells.items()},
            "questions": row.doubts,
            "refusals": row.errors,
            "warnings": row.warnings,
        }
        for row in rows[: max(1, min(most, MOST_SHOWN))]
    ]


def value_sql(name: str) -> str:
    """A value of a kept row `r` in SQL of this database; NULL where there is none. The name is never a user's."""
    if connection.vendor == "postgresql":
        return f"""(r."values" ->> '{name}')"""
    return f"""json_extract(r."values", '$."{name}"')"""


def document_sql(name: str) -> str:
    """A document inside the values of a kept row `r`, as this database keeps documents."""
    if connection.vendor == "postgresql":
        return f"""(r."values" -> '{name}')"""
    return f"""json_extract(r."values", '$."{name}"')"""


#: What the accepted rows of a table with labels say, in columns, as `services.bring_in_stock` lays them out for one connection.
STAGED = "import_staged"


#: Kind -> the table of its things, and the column by which a row names one.
_NAMED_BY = {"parts": ("inventory_part", "number"), "suppliers": ("inventory_supplier", "code")}


def read_so_far(file_id: int) -> tuple[int, int]:
    """Row number of the last row that was read, and the newest answer: while both stay, the rows of a file say the same."""
    newest = ImportAnswer.objects.filter(file_id=file_id).order_by("-pk").values_list("pk", flat=True).first()
    return read_until(file_id), newest or 0


def stale_rows(file: ImportFile, kind: Kind, told: OnRecord) -> list[int]:
    """Accepted rows whose thing was booked, or unbooked, since they were read: in file order. Rows of
    things with labels were laid out."""
    if kind.replaces:
        return []
    if kind.name in _NAMED_BY:
        table, column = _NAMED_BY[kind.name]
        there = f"EXISTS (SELECT 1 FROM {table} p WHERE p.{column} = {value_sql(column)})"
        sql = f"""SELECT r.line FROM inventory_importrow r WHERE r.file_id = %s AND r.verdict = %s
            AND r.known <> {there} ORDER BY r.line"""
        return [line for (line,) in by_hand.rows(sql, [file.pk, Verdict.ACCEPTED.value])]
    if kind.name == "stock":
        sql = f"""SELECT r.line FROM {STAGED} r WHERE r.known <> EXISTS (SELECT 1 FROM inventory_item i
            JOIN inventory_balance b ON b.item_id = i.id AND b.real AND b.amount > 0
            JOIN inventory_spot t ON t.id = b.spot_id AND t.name = r.spot
            JOIN inventory_place c ON c.id = t.place_id AND c.code = r.place
            WHERE i.part_id = r.part_id AND i.identity = r.identity) ORDER BY r.line"""
        return [line for (line,) in by_hand.rows(sql)]
    if kind.name == "lots":
        sql = f"""SELECT r.line FROM {STAGED} r WHERE r.known <> EXISTS
            (SELECT 1 FROM inventory_lot l WHERE l.part_id = r.part_id AND l.code = r.lot) ORDER BY r.line"""
        return [line for (line,) in by_hand.rows(sql)]
    if kind.name == "sets":
        sql = f"""SELECT r.line FROM {STAGED} r WHERE r.known <> EXISTS (SELECT 1 FROM inventory_serial s
            JOIN inventory_matchedset m ON m.serial_id = s.id WHERE s.part_id = r.part_id AND s.number = r.serial) ORDER BY r.line"""
        return [line for (line,) in by_hand.rows(sql)]
    rows = list(ImportRow.objects.filter(file=file, verdict=Verdict.ACCEPTED).order_by("line"))
    found = on_record(told, [Judged(Verdict.ACCEPTED, row.values) for row in rows])
    return [row.line for at, row in enumerate(rows) if (at in found) is not row.known]


def other_spellings(file: ImportFile, kind: Kind) -> list[int]:
    """Rows to be booked whose lot or serial another row of the file, or a record made since, spells otherwise, or so that it looks alike:
    in file order.

    What a person said of a row's label counts as it was said. The rows were laid out. Two queries for each of the two, three where
    there are such.
    """
    found: set[int] = set()
    for name, table, column in (("lot", "inventory_lot", "code"), ("serial", "inventory_serial", "number")):
        if name not in LABELLED.get(kind.name, ()):
            continue
        rows = f"""FROM {STAGED} r LEFT JOIN inventory_importanswer a
            ON a.file_id = %s AND a.line = r.line AND a."column" = '{name}'
            WHERE NOT r.known AND r.{name} <> '' AND a.id IS NULL"""
        pair = f"r.part, r.{name}_look"
        pairs = set(
            by_hand.rows(f"SELECT {pair} {rows} GROUP BY {pair} HAVING COUNT(DISTINCT r.{name}) > 1", [file.pk])
        )
        if pairs:
            found |= {
                line for line, *its in by_hand.rows(f"SELECT r.line, {pair} {rows}", [file.pk]) if (*its,) in pairs
            }
        since = f"""SELECT r.line {rows}
            AND EXISTS (SELECT 1 FROM {table} l WHERE {look_sql("l.compare_key")} = r.{name}_look AND l.part_id = r.part_id)
            AND NOT EXISTS (SELECT 1 FROM {table} l WHERE l.part_id = r.part_id AND l.{column} = r.{name})"""
        found |= {line for (line,) in by_hand.rows(since, [file.pk])}
    return sorted(found)


def items_elsewhere() -> tuple[int, Balance | None]:
    """How many things with a serial that laid-out rows speak of stand in a real place already, and the first of them in file order. At most
    two queries."""
    rows = by_hand.rows(
        f"""SELECT b.id FROM {STAGED} r JOIN inventory_item i ON i.part_id = r.part_id AND i.identity = r.identity
        JOIN inventory_balance b ON b.item_id = i.id AND b.single AND b.real AND b.amount > 0
        WHERE NOT r.known AND r.serial <> '' ORDER BY r.line"""
    )
    first = Balance.objects.select_related("item__part", "place").get(pk=rows[0][0]) if rows else None
    return len(rows), first
