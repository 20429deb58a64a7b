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
from inventory.domain.items import Tracked
from inventory.domain.places import PlaceKind
from inventory.models import Act, ImportFile, Lot, MatchedSet, SetBreak
from inventory.models.looks import look_sql
from inventory.queries import by_hand
from inventory.queries.imports import STAGED, items_elsewhere, read_so_far, value_sql
from inventory.services import bring_in_lots, bring_in_prices, things
from inventory.services.rows import adapted
from inventory.services.run import Body

#: The rows that are booked.
_ROWS = f"FROM {STAGED} r WHERE NOT r.known"
_TEXTS = ("part", "lot", "lot_key", "serial", "serial_key", "identity", "place", "spot")
#: What the label of a matched set says: column of the set -> (value of the row, whether it is a number).
_LABELS = {
    "weight_mg": ("weight_mg", True),
    "weighed": ("weighed", False),
    "bore_nm": ("bore_nm", True),
    "piston_nm": ("piston_nm", True),
    "grade": ("grade", False),
    "liner_mark": ("liner mark", False),
    "piston_mark": ("piston mark", False),
}


def stage(file_id: int, today: date) -> tuple[int, int]:
    """Lay out the accepted rows of a table, where its kind needs that. No transaction is needed; what is laid out holds as long as
    `read_so_far` of the file is what is returned here. A file of another kind, or that is not there, needs none of it.

    today  day of the act that is to book it
    """
    known = read_so_far(file_id)
    file = ImportFile.objects.filter(pk=file_id).first()
    if file is None:
        return known
    if file.kind in LABELLED:
        _lay_out(file)
    if file.kind == "lots":
        bring_in_lots.lay_out(file, today)
    if file.kind == "prices":
        bring_in_prices.lay_out(file)
    return known


def _lay_out(file: ImportFile) -> None:
    """Rows of things with labels: a set is one thing, of anything else a row says how many."""
    columns = [f"COALESCE({value_sql(name)}, '') AS {name}" for name in _TEXTS]
    columns += [
        look_sql(f"COALESCE({value_sql(f'{name}_key')}, '')") + f" AS {name}_look" for name in ("lot", "serial")
    ]
    if file.kind == "sets":
        columns.append("1 AS amount")
        for column, (name, is_number) in _LABELS.items():
            said = f"CAST({value_sql(name)} AS bigint)" if is_number else f"COALESCE({value_sql(name)}, '')"
            columns.append(f"{said} AS {column}")
    else:
        columns.append(f"CAST({value_sql('base_amount')} AS bigint) AS amount")
    _run(f"DROP TABLE IF EXISTS {STAGED}")
    _run(
        f"CREATE TEMPORARY TABLE {STAGED} AS SELECT r.line, r.known, p.id AS part_id, p.base, p.tracked_by, {', '.join(columns)}"
        " FROM inventory_importrow r"
        f" LEFT JOIN inventory_part p ON p.number = {value_sql('part')}"
        f" WHERE r.file_id = {int(file.pk)} AND r.verdict = '{Verdict.ACCEPTED.value}' ORDER BY r.line"
    )


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
    lots = _run(
        f"INSERT INTO {Lot._meta.db_table} (part_id, code, compare_key, cure_code, expiry_rule, extension_years)"
        f" SELECT DISTINCT r.part_id, r.lot, r.lot_key, '', 'taken over with the stock, without a date', 0"
        f" {_ROWS} AND r.lot <> '' ON CONFLICT (part_id, code) DO NOTHING"
    )
    _serials(labelled=False)
    return {"lines": _counted(act), "new_lots_without_a_date": lots}


def _sets(act: Act, file: ImportFile) -> Body:
    """Matched sets with what their labels say, one thing each."""
    _refuse_elsewhere()
    _serials(labelled=True)
    return {"sets": _counted(act)}


def _counted(act: Act) -> int:
    """The rows, over from the count difference to their places; how many there were. Lots and serials are there."""
    _run(
        "INSERT INTO inventory_spot (place_id, name)"
        f" SELECT DISTINCT c.id, r.spot FROM {STAGED} r JOIN inventory_place c ON c.code = r.place WHERE NOT r.known"
        " ON CONFLICT (place_id, name) DO NOTHING"
    )
    _run(
        "INSERT INTO inventory_item (part_id, identity, lot_id, serial_id, member, base, single)"
        " SELECT r.part_id, r.identity, l.id, s.id, '', r.base, s.id IS NOT NULL"
        f" FROM {STAGED} r LEFT JOIN inventory_lot l ON r.lot <> '' AND l.part_id = r.part_id AND l.code = r.lot"
        " LEFT JOIN inventory_serial s ON r.serial <> '' AND s.part_id = r.part_id AND s.number = r.serial"
        " WHERE NOT r.known ON CONFLICT (part_id, identity) DO NOTHING"
    )
    moved = _run(
        "INSERT INTO inventory_movement (act_id, item_id, amount, from_spot_id, to_spot_id)"
        f" SELECT %s, i.id, r.amount, %s, t.id FROM {STAGED} r"
        " JOIN inventory_item i ON i.part_id = r.part_id AND i.identity = r.identity"
        " JOIN inventory_place c ON c.code = r.place JOIN inventory_spot t ON t.place_id = c.id AND t.name = r.spot"
        " WHERE NOT r.known AND r.amount > 0 ORDER BY r.line",
        act.pk,
        things.books_only(PlaceKind.COUNT_DIFFERENCE).pk,
    )
    _balances(act)
    _keep_as_counted(act)
    act.laid_on_shelf = moved > 0
    return moved


def _keep_as_counted(act: Act) -> None:
    """What a table says lies somewhere was counted there: a count or a delivery that is entered late would put it there again. A thing
    with a serial stands once anyway."""
    _run(
        "INSERT INTO inventory_countedline (act_id, item_id, spot_id, at, on_books, counted, reason, by_two)"
        " SELECT %s, m.item_id, m.spot_id, %s, b.amount - m.amount, b.amount, '', false"
        " FROM (SELECT item_id, to_spot_id AS spot_id, SUM(amount) AS amount FROM inventory_movement WHERE act_id = %s"
        " GROUP BY item_id, to_spot_id) m"
        " JOIN inventory_balance b ON b.item_id = m.item_id AND b.spot_id = m.spot_id WHERE NOT b.single",
        act.pk,
        adapted(act.occurred_at),
        act.pk,
    )


def _refuse_elsewhere() -> None:
    elsewhere, first = items_elsewhere()
    if first is not None:
        raise DomainError(
            "serial-elsewhere",
            f"{first.item.called} stands at {first.place.code} already; {elsewhere} of the table stand somewhere.",
            ways_out=("Leave its row out.",),
            item=first.item.called,
            place=first.place.code,
        )


def _serials(*, labelled: bool) -> None:
    """Serials, and the matched sets among them; a broken set does not come back whole.

    labelled  the rows say what stands on the labels of the sets
    """
    _run(
        "INSERT INTO inventory_serial (part_id, number, compare_key)"
        f" SELECT DISTINCT r.part_id, r.serial, r.serial_key {_ROWS} AND r.serial <> ''"
        " ON CONFLICT (part_id, number) DO NOTHING"
    )
    named = f"{STAGED} r JOIN inventory_serial s ON s.part_id = r.part_id AND s.number = r.serial"
    broken = by_hand.rows(
        f"SELECT s.number FROM {named} JOIN {SetBreak._meta.db_table} b ON b.serial_id = s.id"
        " WHERE NOT r.known ORDER BY r.line LIMIT 1"
    )
    if broken:
        ((number,),) = broken
        raise DomainError("set-broken", f"{number} was broken and stays broken.", serial=number)
    if labelled:
        labels = {name: f"r.{name}" for name in _LABELS}
        on_record = f"UPDATE SET {', '.join(f'{name} = excluded.{name}' for name in labels)}"
    else:
        labels, on_record = {name: "''" for name, (_, is_number) in _LABELS.items() if not is_number}, "NOTHING"
    _run(
        f"INSERT INTO {MatchedSet._meta.db_table} (serial_id, photo, {', '.join(labels)})"
        f" SELECT DISTINCT s.id, '', {', '.join(labels.values())} FROM {named}"
        f" WHERE NOT r.known AND r.tracked_by = '{Tracked.SET.value}' ON CONFLICT (serial_id) DO {on_record}"
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


BOOK: Mapping[str, Callable[[Act, ImportFile], Body]] = {"stock": _stock, "sets": _sets}
