"""How the accepted rows of the catalogue's tables are booked. Private to services: an open transaction is there, the rows were judged.

They come by the hundred thousand: they are booked by one statement that reads the kept rows where they are. Stock and sets are booked
by `bring_in_stock`, lots by `bring_in_lots`, prices by `bring_in_prices`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from django.db import connection

from inventory import locks
from inventory.domain.errors import DomainError
from inventory.domain.import_rows import Verdict
from inventory.domain.part_numbers import compare_key
from inventory.domain.supersession import Fate, Link, OneWay, add_link
from inventory.models import (
    Act,
    ImportFile,
    ImportRow,
    Part,
    Replacement,
    ReplacementPart,
    Supplier,
)
from inventory.queries import by_hand
from inventory.queries.imports import document_sql, value_sql
from inventory.queries.replacements import links_of
from inventory.services.noticing import refuse_other_measure
from inventory.services.run import Body

CHUNK = 2000
_EMPTY_DOCUMENT = {"postgresql": "'{}'::jsonb", "sqlite": "'{}'"}
#: The rows of a file that are booked; the parameter is the file.
_ROWS = (
    f"""FROM inventory_importrow r WHERE r.file_id = %s AND r.verdict = '{Verdict.ACCEPTED.value}' AND NOT r.known"""
)


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
    for start in range(0, len(keys), CHUNK):
        for part in Part.objects.filter(compare_key__in=sorted(keys)[start : start + CHUNK]).order_by("-number"):
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
        refuse_other_measure(was, [told])
        links = add_link(links, OneWay(was.number, told.number))
        notice = Replacement.objects.create(old=was, way=Replacement.Way.ONE_WAY, fate=Fate.USE_UP, noted_on=noted_on)
        ReplacementPart.objects.create(replacement=notice, part=told, numerator=1, denominator=1)
    return len(named)


def _suppliers(act: Act, file: ImportFile) -> Body:
    """One statement."""
    facts = f"COALESCE({document_sql('facts')}, {_EMPTY_DOCUMENT[connection.vendor]})"
    made = _run(
        f"INSERT INTO {Supplier._meta.db_table} (code, name, send_back_days, facts)"
        f" SELECT {_text('code')}, {_text('name')}, {_number('send back days')}, {facts} {_ROWS} ORDER BY r.line",
        [file.pk],
    )
    return {"suppliers": made}


def parts_of(rows: Sequence[Mapping[str, Any]]) -> dict[str, Part]:
    """The parts that rows name, by number."""
    return {part.number: part for part in Part.objects.filter(number__in={row["part"] for row in rows})}


def chunks(file: ImportFile) -> Iterator[list[Mapping[str, Any]]]:
    """The values of the rows that are booked, in the order of the file."""
    rows = ImportRow.objects.filter(file=file, verdict=Verdict.ACCEPTED, known=False).order_by("line")
    last = 0
    while True:
        chunk = list(rows.filter(line__gt=last).values_list("line", "values")[:CHUNK])
        if not chunk:
            return
        last = chunk[-1][0]
        yield [values for _, values in chunk]


BOOK: Mapping[str, Callable[[Act, ImportFile], Body]] = {"parts": _parts, "suppliers": _suppliers}
