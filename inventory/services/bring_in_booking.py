"""How the accepted rows of each kind of table are booked. Private to services: an open transaction is there, the rows were judged.

Parts and stock come by the hundred thousand: they are booked by a handful of statements that read the kept rows where they are. The other
kinds are read and written in chunks.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from django.db import connection

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.import_rows import Verdict
from inventory.domain.part_numbers import compare_key
from inventory.domain.places import PlaceKind
from inventory.domain.shelf_life import Expiry, LotDates, expiry, parse_cure_code
from inventory.domain.spelling import label_key
from inventory.domain.supersession import Fate, Link, OneWay, add_link
from inventory.models import (
    Act,
    ImportFile,
    ImportRow,
    Lot,
    MatchedSet,
    Part,
    Place,
    Replacement,
    ReplacementPart,
    Serial,
    SetBreak,
    Spot,
    Supplier,
    SupplierPart,
)
from inventory.queries import by_hand
from inventory.queries.days import shop_day
from inventory.queries.imports import document_sql, items_elsewhere, value_sql
from inventory.queries.replacements import links_of
from inventory.queries.shop import Shop, shop
from inventory.services import things
from inventory.services.post import Move, post
from inventory.services.rows import adapted
from inventory.services.run import Body

_CHUNK = 2000
#: The rows of a file that are booked; the parameter is the file.
_ROWS = (
    f"""FROM inventory_importrow r WHERE r.file_id = %s AND r.verdict = '{Verdict.ACCEPTED.value}' AND NOT r.known"""
)


_WITH_LOT_AND_SERIAL = """LEFT JOIN inventory_lot l ON l.part_id = p.id AND l.code = {lot}
    LEFT JOIN inventory_serial s ON s.part_id = p.id AND s.number = {serial}"""
_WITH_ITEM_AND_SPOT = """JOIN inventory_item i ON i.part_id = p.id AND i.identity = {identity}
    JOIN inventory_place c ON c.code = {place} JOIN inventory_spot t ON t.place_id = c.id AND t.name = {spot}"""


def _text(name: str) -> str:
    """A value of a kept row as text in SQL, '' where there is none."""
    return f"COALESCE({value_sql(name)}, '')"


def _number(name: str, otherwise: str = "NULL") -> str:
    return f"COALESCE(CAST({value_sql(name)} AS bigint), {otherwise})"


def _run(sql: str, parameters: Sequence[Any]) -> int:
    with connection.cursor() as cursor:
        cursor.execute(sql, parameters)
        return int(cursor.rowcount)


def _parts(act: Act, file: ImportFile) -> Body:
    """One statement. What a row does not say is as for a part that is entered by hand."""
    texts = {
        "number": "number",
        "shop_number": "shop number",
        "compare_key": "compare_key",
        "name": "name",
        "kind": "kind",
        "unit": "unit",
        "base": "base",
        "tracked_by": "tracked by",
        "compound": "compound",
        "lubricant": "lubricant",
        "hazard_note": "hazard note",
        "storage_note": "storage note",
    }
    numbers = {
        "weight_mg": _number("weight_mg"),
        "packed_ul": _number("packed_ul"),
        "net_ul": _number("net_ul"),
        "empty_mg": _number("empty_mg"),
        "density_mg_per_ml": _number("density mg per mL"),
        "pack": _number("pack", "1"),
        "price_coins": _number("price"),
    }
    kept = {"life": "life", "ring": "ring", "label_window": "label window", "storage": "storage"}
    columns = [*texts, *numbers, *kept, "loose_issue", "version"]
    values = [*(_text(name) for name in texts.values()), *numbers.values(), *map(document_sql, kept.values())]
    loose = f"LOWER({_text('loose issue')}) NOT IN ('0', 'false')"
    made = _run(
        f"INSERT INTO {Part._meta.db_table} ({', '.join(columns)})"
        f" SELECT {', '.join(values)}, {loose}, 1 {_ROWS} ORDER BY r.line",
        [file.pk],
    )
    return {"parts": made, "replacements": _replacements(file)}


def _replacements(file: ImportFile) -> int:
    """One-way notices of the rows that say what replaces their part; the whole web is checked for circles, as by hand."""
    sql = f"SELECT r.line, {_text('number')}, {_text('replaced by')}, {value_sql('replaced on')} {_ROWS}"
    named = by_hand.rows(f"{sql} AND {_text('replaced by')} <> '' ORDER BY r.line", [file.pk])
    if not named:
        return 0
    locks.name("replacements", "all")
    keys = {compare_key(text) for _, old, new, _ in named for text in (old, new)}
    parts: dict[str, Part] = {}
    for start in range(0, len(keys), _CHUNK):
        for part in Part.objects.filter(compare_key__in=sorted(keys)[start : start + _CHUNK]).order_by("-number"):
            parts[part.compare_key] = part
    links: tuple[Link, ...] = tuple(links_of([part.pk for part in parts.values()]))
    for line, old, new, noted_on in named:
        told = parts.get(compare_key(new))
        if told is None:
            raise DomainError(
                "not-found",
                f"Row {line}: {old} is replaced by {new}, and no part {new} is on record or in the table.",
                ways_out=("Leave the row out.", "Enter the new part, or bring it in by another table, first."),
                row=line,
                part=new,
            )
        was = parts[compare_key(old)]
        links = add_link(links, OneWay(was.number, told.number))
        notice = Replacement.objects.create(old=was, way=Replacement.Way.ONE_WAY, fate=Fate.USE_UP, noted_on=noted_on)
        ReplacementPart.objects.create(replacement=notice, part=told, numerator=1, denominator=1)
    return len(named)


def _suppliers(act: Act, file: ImportFile) -> Body:
    made = 0
    for rows in _chunks(file):
        made += len(rows)
        Supplier.objects.bulk_create(
            Supplier(code=row["code"], name=row["name"], send_back_days=row.get("send back days")) for row in rows
        )
    return {"suppliers": made}


def _prices(act: Act, file: ImportFile) -> Body:
    made = 0
    suppliers = {one.code: one for one in Supplier.objects.all()}
    for rows in _chunks(file):
        parts = _parts_of(rows)
        made += len(rows)
        SupplierPart.objects.bulk_create(
            [
                SupplierPart(
                    supplier=suppliers[row["supplier"]],
                    part=parts[row["part"]],
                    number=row.get("their number") or "",
                    pack=row.get("pack") or 1,
                    least_order=row.get("least order") or 1,
                    price_coins=row["price"],
                    lead_days=row.get("lead days"),
                )
                for row in rows
            ],
            update_conflicts=True,
            unique_fields=["supplier", "part"],
            update_fields=["number", "pack", "least_order", "price_coins", "lead_days"],
        )
    return {"prices": made}


def _lots(act: Act, file: ImportFile) -> Body:
    """Lots with the expiry that their dates give by the shop's rules; without a date a lot with a life counts as out of date."""
    made = undated = 0
    its = shop()
    today = shop_day(act.occurred_at)
    suppliers = {one.code: one for one in Supplier.objects.all()}
    for rows in _chunks(file):
        parts = _parts_of(rows)
        lots = []
        for row in rows:
            lot = _lot(parts[row["part"]], row, its, today)
            lot.supplier = suppliers.get(row.get("supplier") or "")
            undated += lot.expires_on is None
            lots.append(lot)
        Lot.objects.bulk_create(lots)
        made += len(rows)
    return {"lots": made, "without_an_expiry": undated}


def _lot(part: Part, row: Mapping[str, Any], its: Shop, today: date) -> Lot:
    """A lot with the expiry that its dates give, or as the table states it where that names its rule too."""
    lot = Lot(
        part=part,
        code=row["lot"],
        compare_key=label_key(row["lot"]),
        printed_on=None if row.get("expiry rule") else _day(row, "expires on"),
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
    found = expiry(rule, LotDates(cure, lot.made_on, _day(row, "expires on")), its.basis)
    if isinstance(found, Expiry):
        lot.expires_on, lot.expiry_rule, lot.extension_years = found.day, found.rule[:200], rule.extension_years
    else:
        lot.expiry_rule = found.reason[:200]
    return lot


def _day(row: Mapping[str, Any], name: str) -> date | None:
    return date.fromisoformat(row[name]) if row.get(name) else None


def _stock(act: Act, file: ImportFile) -> Body:
    """Counted over, from the count difference to the shelves, as if somebody had counted all of it at once."""
    _refuse_elsewhere(file)
    _spots(file)
    lots = _run(
        f"INSERT INTO {Lot._meta.db_table} (part_id, code, compare_key, cure_code, expiry_rule, extension_years)"
        f" SELECT DISTINCT p.id, {_text('lot')}, {_text('lot_key')}, '', 'taken over with the stock, without a date', 0"
        f" {_joined()} AND {_text('lot')} <> ''"
        " ON CONFLICT (part_id, code) DO NOTHING",
        [file.pk],
    )
    _serials(file)
    _run(
        "INSERT INTO inventory_item (part_id, identity, lot_id, serial_id, member, base, single)"
        f" SELECT p.id, {_text('identity')}, l.id, s.id, '', p.base, s.id IS NOT NULL"
        f" {_joined(_WITH_LOT_AND_SERIAL)}"
        " ON CONFLICT (part_id, identity) DO NOTHING",
        [file.pk],
    )
    difference = things.books_only(PlaceKind.COUNT_DIFFERENCE)
    moved = _run(
        "INSERT INTO inventory_movement (act_id, item_id, amount, from_spot_id, to_spot_id)"
        f" SELECT %s, i.id, {_number('base_amount')}, %s, t.id"
        f" {_joined(_WITH_ITEM_AND_SPOT)}"
        f" AND {_number('base_amount')} > 0 ORDER BY r.line",
        [act.pk, difference.pk, file.pk],
    )
    _balances(act)
    return {"lines": moved, "new_lots_without_a_date": lots}


def _joined(joins: str = "") -> str:
    """The rows of the file with their parts, and with what else; names in braces are values of the row."""
    names = ("lot", "serial", "identity", "place", "spot")
    told = joins.format(**{name: _text(name) for name in names}) if joins else ""
    return (
        f"FROM inventory_importrow r JOIN inventory_part p ON p.number = {_text('part')} {told}"
        f" WHERE r.file_id = %s AND r.verdict = '{Verdict.ACCEPTED.value}' AND NOT r.known"
    )


def _refuse_elsewhere(file: ImportFile) -> None:
    elsewhere = items_elsewhere(file.pk)
    if elsewhere:
        first = elsewhere[0]
        raise DomainError(
            "serial-elsewhere",
            f"{first.item.called} stands at {first.place.code} already, and so do {len(elsewhere) - 1} others of the table.",
            item=first.item.called,
            place=first.place.code,
        )


def _spots(file: ImportFile) -> None:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT DISTINCT {_text('place')}, {_text('spot')} {_ROWS}", [file.pk])
        wanted = cursor.fetchall()
    places = {place.code: place for place in Place.objects.filter(code__in={code for code, _ in wanted})}
    Spot.objects.bulk_create(
        [Spot(place=places[code], name=name) for code, name in sorted(wanted)], ignore_conflicts=True, batch_size=_CHUNK
    )


def _serials(file: ImportFile) -> None:
    """Serials, and for sets their labels; a broken set does not come back whole."""
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT p.id, {_text('serial')}, p.tracked_by {_joined()} AND {_text('serial')} <> ''", [file.pk]
        )
        wanted = cursor.fetchall()
    if not wanted:
        return
    Serial.objects.bulk_create(
        [Serial(part_id=part, number=number, compare_key=label_key(number)) for part, number, _ in wanted],
        ignore_conflicts=True,
        batch_size=_CHUNK,
    )
    keys = {(part, number) for part, number, _ in wanted}
    serials = [
        serial
        for start in range(0, len(wanted), _CHUNK)
        for serial in Serial.objects.filter(number__in={number for _, number, _ in wanted[start : start + _CHUNK]})
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
        batch_size=_CHUNK,
    )


def _balances(act: Act) -> None:
    """The balances of what one act moved, shelves and the books' own, by two statements."""
    later = "GREATEST" if connection.vendor == "postgresql" else "MAX"
    shelf, no = PlaceKind.SHELF.value, "%s"
    for spot, sign in (("m.to_spot_id", ""), ("m.from_spot_id", "-")):
        _run(
            "INSERT INTO inventory_balance (item_id, spot_id, place_id, part_id, amount, held, real, single, pickable, in_shop,"
            " last_at)"
            f" SELECT m.item_id, {spot}, c.id, i.part_id, {sign}SUM(m.amount), 0, c.real, i.single,"
            f" c.kind = '{shelf}' AND i.member = '', c.real, {no}"
            f" FROM inventory_movement m JOIN inventory_item i ON i.id = m.item_id JOIN inventory_spot t ON t.id = {spot}"
            " JOIN inventory_place c ON c.id = t.place_id WHERE m.act_id = %s"
            f" GROUP BY m.item_id, {spot}, c.id, c.kind, c.real, i.part_id, i.single, i.member"
            " ON CONFLICT (item_id, spot_id) DO UPDATE SET amount = inventory_balance.amount + excluded.amount,"
            f" last_at = {later}(inventory_balance.last_at, excluded.last_at)",
            [adapted(act.occurred_at), act.pk],
        )


def _sets(act: Act, file: ImportFile) -> Body:
    """Matched sets with what their labels say, one thing each."""
    _refuse_elsewhere(file)
    _serials(file)
    source = things.books_only(PlaceKind.COUNT_DIFFERENCE)
    made = 0
    for rows in _chunks(file):
        parts = _parts_of(rows)
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


def _parts_of(rows: Sequence[Mapping[str, Any]]) -> dict[str, Part]:
    return {part.number: part for part in Part.objects.filter(number__in={row["part"] for row in rows})}


def _chunks(file: ImportFile) -> Iterator[list[Mapping[str, Any]]]:
    """The values of the rows that are booked, in the order of the file."""
    rows = ImportRow.objects.filter(file=file, verdict=Verdict.ACCEPTED, known=False).order_by("line")
    last = 0
    while True:
        chunk = list(rows.filter(line__gt=last).values_list("line", "values")[:_CHUNK])
        if not chunk:
            return
        last = chunk[-1][0]
        yield [values for _, values in chunk]


BOOK: Mapping[str, Callable[[Act, ImportFile], Body]] = {
    "parts": _parts,
    "suppliers": _suppliers,
    "prices": _prices,
    "lots": _lots,
    "stock": _stock,
    "sets": _sets,
}
