"""A table written out as comma separated text, a workbook, or JSON lines; row by row, so that the length does not matter.

What a table program would take for a formula (a text that begins with = + - @, tab or return) is written with an apostrophe in front in
comma separated text, which says "text" to it (OWASP, CSV injection); read back, the apostrophe is taken off again (`unescaped`). Workbooks
and JSON lines have a type for text and need none.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date, datetime
from typing import Any

import xlsxwriter

_FORMULA = ("=", "+", "-", "@", "\t", "\r")
Value = str | int | bool | date | datetime | None
_FLUSH = 500


def escaped(text: str) -> str:
    """With an apostrophe in front where a table program would calculate, or where an apostrophe stands there already."""
    return f"'{text}" if text.startswith((*_FORMULA, "'")) else text


def unescaped(text: str) -> str:
    """The text that `escaped` was given."""
    return text[1:] if text.startswith("'") and text[1:].startswith((*_FORMULA, "'")) else text


def csv_lines(headings: Sequence[str], rows: Iterable[Sequence[Value]]) -> Iterator[bytes]:
    """UTF-8 with its mark, so that table programs read it as such; lines end in CR LF (RFC 4180)."""
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer)
    writer.writerow([escaped(heading) for heading in headings])
    yield b"\xef\xbb\xbf"
    for number, row in enumerate(rows, 1):
        writer.writerow([escaped(value) if isinstance(value, str) else _plain(value) for value in row])
        if number % _FLUSH == 0:
            yield buffer.getvalue().encode()
            buffer.seek(0)
            buffer.truncate()
    yield buffer.getvalue().encode()


def json_lines(headings: Sequence[str], rows: Iterable[Sequence[Value]]) -> Iterator[bytes]:
    """One object a line, by heading (https://jsonlines.org)."""
    for row in rows:
        values = [value.isoformat() if isinstance(value, date | datetime) else value for value in row]
        yield (json.dumps(dict(zip(headings, values, strict=True)), ensure_ascii=False) + "\n").encode()


def workbook(headings: Sequence[str], rows: Iterable[Sequence[Value]]) -> Iterator[bytes]:
    """XLSX with one sheet. Numbers that a workbook cannot hold exactly (over 15 digits) are written as text."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"constant_memory": True}) as book:
        sheet = book.add_worksheet("table")
        day = book.add_format({"num_format": "yyyy-mm-dd"})
        for across, heading in enumerate(headings):
            sheet.write_string(0, across, heading)
        for down, row in enumerate(rows, 1):
            for across, value in enumerate(row):
                _write_cell(sheet, down, across, value, day)
    yield out.getvalue()


def _write_cell(sheet: Any, down: int, across: int, value: Value, day: Any) -> None:
    if value is None:
        return
    if isinstance(value, str):
        sheet.write_string(down, across, value)
    elif isinstance(value, bool):
        sheet.write_boolean(down, across, value)
    elif isinstance(value, datetime):
        sheet.write_string(down, across, value.isoformat())
    elif isinstance(value, date):
        sheet.write_datetime(down, across, value, day)
    elif abs(value) < 10**15:
        sheet.write_number(down, across, value)
    else:
        sheet.write_string(down, across, str(value))


def _plain(value: Value) -> str | int:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value.isoformat() if isinstance(value, date | datetime) else value


Writer = Callable[[Sequence[str], Iterable[Sequence[Value]]], Iterator[bytes]]
#: By the format's name: content type and how it is written.
FORMATS: dict[str, tuple[str, Writer]] = {
    "csv": ("text/csv; charset=utf-8", csv_lines),
    "xlsx": ("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", workbook),
    "jsonl": ("application/jsonl", json_lines),
}
