"""How tables of stock and of matched sets are booked: counted over, from the count difference to their places.
Private to services.

Their rows come by the hundred thousand. What the kept rows say is laid out beside the books before the transaction that books it
(`stage`), in a table that only this connection sees, so that nobody waits while JSON is read. Booking is a handful of statements over it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from django.db import connection

from inventory.domain.errors import DomainError
from inventory.domain.import_kinds import LABELLED
from inventory.domain.import_rows import Verdict
from inventory.domain.places import PlaceKind
from inventory.domain.spelling import label_key
from inventory.models import Act, ImportFile, Lot, MatchedSet, Place, Serial, SetBreak, Spot
from inventory.queries import by_hand
from inventory.queries.imports import STAGED, items_elsewhere, read_so_far, value_sql
from inventory.services import bring_in_lots, things
from inventory.services.bring_in_booking import CHUNK, chunks, parts_of
from inventory.services.post import Move, post
from inventory.services.rows import adapted
from inventory.services.run import Body

#: The rows that are booked.
_ROWS = f"FROM {STAGED} r WHERE NOT r.known"
_TEXTS = ("part", "lot", "lot_key", "serial", "serial_key", "identity", "place", "spot")


def stage(file_id: int, today: date) -> tuple[int, int]:
    """Lay out the accepted rows of a table whose things have labels. No transaction is needed; what is laid out holds as long as
    `read_so_far` of the file is what is returned here. A file of another kind, or that is not there, needs none of it.

    today  day of the act that is to book it
    """
    known = read_so_far(file_id)
    file = ImportFile.objects.filter(pk=file_id).first()
    if file is None or file.kind not in LABELLED:
        return known
    texts = ", ".join(f"COALESCE({value_sql(name)}, '') AS {name}" for name in _TEXTS)
    _run(f"DROP TABLE IF EXISTS {STAGED}")
    _run(
        f"CREATE TEMPORARY TABLE {STAGED} AS SELECT r.line, r.known, p.id AS part_id, p.base, p.tracked_by, {texts},"
        f" CAST({value_sql('base_amount')} AS bigint) AS amount FROM inventory_importrow r"
        f" LEFT JOIN inventory_part p ON p.number = {value_sql('part')}"
        f" WHERE r.file_id = {int(file_id)} AND r.verdict = '{Verdict.ACCEPTED.value}' ORDER BY r.line"
    )
    if file.kind == "lots":
        bring_in_lots.lay_out(file, today)
    return known


def staged_anew(file: ImportFile, known: tuple[int, int], today: date) -> None:
    """In the transaction that books: laid out once more where rows were read or answered since."""
    if known != read_so_far(file.pk):
        stage(file.pk, today)


def _run(sql: str, *parameters: Any) -> int:
    with connection.cursor() as cursor:
        cursor.execute(sql, parameters or None)
        return int(cursor.rowcount)


def _stock(act: Act, file: ImportFile) -> Body:
    """As if somebody had counted all of it at once."""
    _refuse_elsewhere()
    _spots()
    lots = _run(
        f"INSERT INTO {Lot._meta.db_table} (part_id, code, compare_key, cure_code, expiry_rule, extension_years)"
        f" SELECT DISTINCT r.part_id, r.lot, r.lot_key, '', 'taken over with the stock, without a date', 0"
        f" {_ROWS} AND r.lot <> '' ON CONFLICT (part_id, code) DO NOTHING"
    )
    _serials()
    _run(
        "INSERT INTO inventory_item (part_id, identity, lot_id, serial_id, member, base, single)"
        " SELECT r.part_id, r.identity, l.id, s.id, '', r.base, s.id IS NOT NULL"
        f" FROM {STAGED} r LEFT JOIN inventory_lot l ON r.lot <> '' AND l.part_id = r.part_id AND l.code = r.lot"
        " LEFT JOIN inventory_serial s ON r.serial <> '' AND s.part_id = r.part_id AND s.number = r.serial"
        " WHERE NOT r.known ON CONFLICT (part_id, identity) DO NOTHING"
    )
    difference = things.books_only(PlaceKind.COUNT_DIFFERENCE)
    moved = _run(
        "INSERT INTO inventory_movement (act_id, item_id, amount, from_spot_id, to_spot_id)"
        f" SELECT %s, i.id, r.amount, %s, t.id FROM {STAGED} r"
        " JOIN inventory_item i ON i.part_id = r.part_id AND i.identity = r.identity"
        " JOIN inventory_place c ON c.code = r.place JOIN inventory_spot t ON t.place_id = c.id AND t.name = r.spot"
        " WHERE NOT r.known AND r.amount > 0 ORDER BY r.line",
        act.pk,
        difference.pk,
    )
    _balances(act)
    act.laid_on_shelf = moved > 0
    return {"lines": moved, "new_lots_without_a_date": lots}


def _refuse_elsewhere() -> None:
    elsewhere = items_elsewhere()
    if elsewhere:
        first = elsewhere[0]
        raise DomainError(
            "serial-elsewhere",
            f"{first.item.called} stands at {first.place.code} already; {len(elsewhere)} of the table stand somewhere.",
            ways_out=("Leave its row out.",),
            item=first.item.called,
            place=first.place.code,
        )


def _spots() -> None:
    wanted = by_hand.rows(f"SELECT DISTINCT r.place, r.spot {_ROWS}")
    places = {place.code: place for place in Place.objects.filter(code__in={code for code, _ in wanted})}
    Spot.objects.bulk_create(
        [Spot(place=places[code], name=name) for code, name in sorted(wanted)], ignore_conflicts=True, batch_size=CHUNK
    )


def _serials() -> None:
    """Serials, and for sets their labels; a broken set does not come back whole."""
    wanted = by_hand.rows(f"SELECT r.part_id, r.serial, r.tracked_by {_ROWS} AND r.serial <> ''")
    if not wanted:
        return
    Serial.objects.bulk_create(
        [Serial(part_id=part, number=number, compare_key=label_key(number)) for part, number, _ in wanted],
        ignore_conflicts=True,
        batch_size=CHUNK,
    )
    keys = {(part, number) for part, number, _ in wanted}
    serials = [
        serial
        for start in range(0, len(wanted), CHUNK)
        for serial in Serial.objects.filter(number__in={number for _, number, _ in wanted[start : start + CHUNK]})
        if (serial.part_id, serial.number) in keys
    ]
    broken = SetBreak.objects.filter(serial__in=[serial.pk for serial in serials]).select_related("serial").first()
    if broken is not None:
        raise DomainError(
            "set-broken", f"{broken.serial.number} was broken and stays broken.", serial=broken.serial.number
        )
    sets = {(part, number) for part, number, tracked in wanted if tracked == "set"}
    MatchedSet.objects.bulk_create(
        [MatchedSet(serial=serial) for serial in serials if (serial.part_id, serial.number) in sets],
        ignore_conflicts=True,
        batch_size=CHUNK,
    )


def _balances(act: Act) -> None:
    """The balances of what one act moved, shelves and the books' own, by two statements."""
    later = "GREATEST" if connection.vendor == "postgresql" else "MAX"
    shelf = PlaceKind.SHELF.value
    for spot, sign in (("to_spot_id", ""), ("from_spot_id", "-")):
        _run(
            "INSERT INTO inventory_balance (item_id, spot_id, place_id, part_id, amount, held, real, single, pickable, in_shop,"
            " last_at)"
            f" SELECT m.item_id, m.spot_id, c.id, i.part_id, {sign}m.amount, 0, c.real, i.single,"
            f" c.kind = '{shelf}' AND i.member = '', c.real, %s"
            f" FROM (SELECT item_id, {spot} AS spot_id, SUM(amount) AS amount FROM inventory_movement WHERE act_id = %s"
            f" GROUP BY item_id, {spot}) m"
            " JOIN inventory_item i ON i.id = m.item_id JOIN inventory_spot t ON t.id = m.spot_id"
            " JOIN inventory_place c ON c.id = t.place_id WHERE true"
            " ON CONFLICT (item_id, spot_id) DO UPDATE SET amount = inventory_balance.amount + excluded.amount,"
            f" last_at = {later}(inventory_balance.last_at, excluded.last_at)",
            adapted(act.occurred_at),
            act.pk,
        )


def _sets(act: Act, file: ImportFile) -> Body:
    """Matched sets with what their labels say, one thing each."""
    _refuse_elsewhere()
    _serials()
    source = things.books_only(PlaceKind.COUNT_DIFFERENCE)
    made = 0
    for rows in chunks(file):
        parts = parts_of(rows)
        serials = {
            (one.part_id, one.number): one for one in Serial.objects.filter(number__in={row["serial"] for row in rows})
        }
        places = {place.code: place for place in Place.objects.filter(code__in={row["place"] for row in rows})}
        moves = []
        for row in rows:
            part = parts[row["part"]]
            serial = serials[part.pk, row["serial"]]
            MatchedSet.objects.filter(serial=serial).update(
                weight_mg=row.get("weight_mg"),
                weighed=row.get("weighed") or "",
                bore_nm=row.get("bore_nm"),
                piston_nm=row.get("piston_nm"),
                grade=row.get("grade") or "",
                liner_mark=row.get("liner mark") or "",
                piston_mark=row.get("piston mark") or "",
            )
            spot = things.spot(places[row["place"]], row["spot"])
            moves.append(Move(things.item(part, serial=serial), 1, source, spot))
        post(act, moves)
        made += len(moves)
    return {"sets": made}


BOOK: Mapping[str, Callable[[Act, ImportFile], Body]] = {"stock": _stock, "sets": _sets}
