"""A table file as headings and rows of cells: comma separated text (RFC 4180, any of , ; tab |) or a workbook (ISO/IEC 29500, XLSX).

Nothing is interpreted here beyond what the format itself says: whether a cell is a number, a day, or was merged with others. The
first row that is not empty holds the headings; empty rows are no rows.
"""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from functools import reduce
from itertools import zip_longest
from typing import IO

from python_calamine import CalamineError, CalamineSheet, CalamineWorkbook, ZipError

from api.tables.write import unescaped
from inventory.domain.errors import DomainError
from inventory.domain.import_cells import Cell
from inventory.domain.text import shown

MOST_BYTES = 50_000_000
#: What a workbook may unpack to: it is a compressed file, and a small one can be made to unpack to any size.
MOST_UNPACKED = 600_000_000
MOST_ROWS = 200_000
MOST_CELLS = 20_000_000
_DELIMITERS = ",;\t|"
_SAMPLE = 8192
_ZIP = b"PK\x03\x04"
_SHEET = re.compile(r"xl/worksheets/[^/]*\.xml", re.IGNORECASE)
_REFERENCE = re.compile(rb"""\sr=["']([A-Z]{0,3})([0-9]{1,8})["']""")
Row = tuple[int, tuple[Cell, ...]]


@dataclass(frozen=True, slots=True)
class Table:
    """headings: texts; rows: (row number in the file from 1, cells), as often as it is asked; read_as: said to the person."""

    headings: tuple[str, ...]
    read_as: str
    rows: tuple[Row, ...]


def read_table(data: bytes, name: str) -> Table:
    """The table of a file; of a workbook its first sheet.

    Raises DomainError "table-unreadable" (neither text nor workbook, encrypted, damaged, or nothing in it), "table-too-large".
    """
    if len(data) > MOST_BYTES:
        raise _too_large(name, f"{len(data)} bytes; at most {MOST_BYTES}")
    rows, read_as = _workbook(data, name) if data.startswith(_ZIP) else _text(data, name)
    headings: tuple[str, ...] | None = None
    kept: list[Row] = []
    for number, cells in rows:
        if all(cell.empty for cell in cells):
            continue
        if headings is None:
            headings = tuple(cell.text.strip() for cell in cells)
            continue
        kept.append((number, cells))
        if len(kept) > MOST_ROWS:
            raise _too_large(name, f"more than {MOST_ROWS} rows")
    if headings is None:
        raise DomainError("table-unreadable", f"{shown(name)} is empty.", file=shown(name))
    return Table(headings, read_as, tuple(kept))


def _text(data: bytes, name: str) -> tuple[Iterator[Row], str]:
    text, encoding = _decoded(data, name)
    delimiter = _delimiter(text)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    return _csv_rows(reader, name), f"text, {encoding}, separated by {'tab' if delimiter == chr(9) else delimiter}"


def _csv_rows(reader: Iterator[list[str]], name: str) -> Iterator[Row]:
    number = 0
    try:
        for row in reader:
            number += 1
            yield number, tuple(Cell(unescaped(text)) for text in row)
    except csv.Error as error:
        raise DomainError(
            "table-unreadable", f"{shown(name)}: row {number + 1}: {error}.", file=shown(name), row=number + 1
        ) from None


def _decoded(data: bytes, name: str) -> tuple[str, str]:
    """UTF-8 (with or without its mark), UTF-16 with its mark; else as older table programs write western text."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        candidates: tuple[str, ...] = ("utf-16",)
    else:
        candidates = ("utf-8-sig", "cp1252")
    for encoding in candidates:
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text, encoding
    raise DomainError("table-unreadable", f"{shown(name)} is no text and no workbook.", file=shown(name))


def _delimiter(text: str) -> str:
    """The separator of the first line that is not empty: the one that stands there most often, outside quotes."""
    first = next((line for line in text[:_SAMPLE].splitlines() if line.strip()), "")
    outside = "".join(first.split('"')[::2])
    return max(_DELIMITERS, key=lambda char: (outside.count(char), -_DELIMITERS.index(char)))


def _workbook(data: bytes, name: str) -> tuple[Iterator[Row], str]:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            _check_size(packed, name)
        book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        if not book.sheet_names:
            raise DomainError("table-unreadable", f"{shown(name)} has no sheet.", file=shown(name))
        sheet = book.get_sheet_by_index(0)
        return _sheet_rows(sheet), f"workbook, sheet {shown(sheet.name)}"
    except (CalamineError, ZipError, zipfile.BadZipFile, OSError) as error:
        raise DomainError(
            "table-unreadable",
            f"{shown(name)} is no workbook that can be read: {shown(str(error), 80)}.",
            file=shown(name),
        ) from None


def _check_size(packed: zipfile.ZipFile, name: str) -> None:
    """The reader of workbooks lays a sheet out whole: one stray cell in the far corner would take all memory, so the addresses of all
    cells are looked at before."""
    unpacked = sum(entry.file_size for entry in packed.infolist())
    if unpacked > MOST_UNPACKED:
        raise _too_large(name, f"unpacks to {unpacked} bytes; at most {MOST_UNPACKED}")
    for entry in packed.infolist():
        if _SHEET.fullmatch(entry.filename):
            with packed.open(entry) as sheet:
                down, across = _extent(sheet, name)
            if down > MOST_ROWS or down * across > MOST_CELLS:
                raise _too_large(name, f"its cells reach to row {down}, column {across}")


def _extent(sheet: IO[bytes], name: str) -> tuple[int, int]:
    """The last row and the last column, from 1, that a cell of the sheet says it stands in."""
    down = across = 0
    tail = b""
    while block := sheet.read(1 << 20):
        block = tail + block
        if b"\0" in block:
            raise DomainError("table-unreadable", f"{shown(name)} is written in an odd way.", file=shown(name))
        for letters, digits in _REFERENCE.findall(block):
            down = max(down, int(digits))
            across = max(across, reduce(lambda number, letter: number * 26 + letter - ord("A") + 1, letters, 0))
        tail = block[-40:]
    return down, across


def _sheet_rows(sheet: CalamineSheet) -> Iterator[Row]:
    merged = _merged(sheet)
    texts: dict[tuple[int, int], Cell] = {}
    origins = set(merged.values())
    for down, values in enumerate(sheet.to_python(skip_empty_area=False)):
        cells = []
        for across, value in enumerate(values):
            cell = _cell(value)
            if (down, across) in origins:
                texts[down, across] = cell
            origin = merged.get((down, across))
            if origin is not None and origin in texts and not texts[origin].empty:
                first = texts[origin]
                cell = Cell(first.text, first.is_number, first.day, merged_with=_address(origin))
            cells.append(cell)
        yield down + 1, tuple(cells)


def _merged(sheet: CalamineSheet) -> dict[tuple[int, int], tuple[int, int]]:
    """Every cell of a merged range but its first -> the first."""
    found: dict[tuple[int, int], tuple[int, int]] = {}
    for (top, left), (bottom, right) in sheet.merged_cell_ranges or ():
        for down in range(top, min(bottom, MOST_ROWS) + 1):
            for across in range(left, right + 1):
                if (down, across) != (top, left):
                    found[down, across] = (top, left)
    return found


def _address(at: tuple[int, int]) -> str:
    """Row and column from 0 as the sheet shows them: (2, 27) is AB3."""
    down, across = at
    letters = ""
    across += 1
    while across:
        across, rest = divmod(across - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return f"{letters}{down + 1}"


def _cell(value: object) -> Cell:
    if value is None or value == "":
        return Cell()
    if isinstance(value, bool):
        return Cell("yes" if value else "no")
    if isinstance(value, int | float):
        return Cell(_number(value), is_number=True)
    if isinstance(value, datetime | date):
        day = value.date() if isinstance(value, datetime) else value
        return Cell(day.isoformat(), day=day)
    if isinstance(value, time):
        return Cell(value.isoformat())
    return Cell(str(value))


def _number(value: float) -> str:
    """Written out in full: 412.0 is 412, 0.1 is 0.1, 2e+20 is 200000000000000000000."""
    if value != value or value in (float("inf"), float("-inf")):
        return str(value)
    exact = Decimal(repr(value))
    return format(exact.quantize(Decimal(1)) if exact == exact.to_integral_value() else exact, "f")


def by_column(row: tuple[Cell, ...], columns: dict[int, str]) -> dict[str, Cell]:
    """The cells of a row by column name; a row that is shorter than its headings ends in empty cells."""
    found = {columns[at]: cell for at, cell in enumerate(row) if at in columns}
    return {name: found.get(name, Cell()) for name in columns.values()}


def others(row: tuple[Cell, ...], headings: tuple[str, ...], columns: dict[int, str]) -> dict[str, str]:
    """What stands in columns that are not known, by heading; kept with the row."""
    pairs = zip_longest(headings, row, fillvalue=None)
    found: dict[str, str] = {}
    for at, (heading, cell) in enumerate(pairs):
        if at not in columns and isinstance(cell, Cell) and not cell.empty:
            found[heading if isinstance(heading, str) and heading else f"column {at + 1}"] = cell.text
    return found


def _too_large(name: str, why: str) -> DomainError:
    return DomainError("table-too-large", f"{shown(name)}: {why}.", file=shown(name))
