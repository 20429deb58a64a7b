"""Table files: as table programs write them, and damaged on purpose."""

import io
import zipfile
from datetime import date

import pytest
import xlsxwriter
from hypothesis import given
from hypothesis import strategies as st

from api.tables import read as reading
from api.tables.read import by_column, others, read_table
from api.tables.write import csv_lines, escaped, json_lines, unescaped, workbook
from inventory.domain.errors import DomainError
from inventory.domain.import_cells import Cell


def texts(table):
    return [[cell.text for cell in cells] for _, cells in table.rows]


def refused(data, name="t.csv"):
    with pytest.raises(DomainError) as caught:
        read_table(data, name)
    return caught.value.code


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_text_with_any_separator(delimiter):
    table = read_table(
        delimiter.join(["part", "na me"]).encode() + b"\r\n" + delimiter.join(["X-1", '"a\nb"']).encode(), "t.csv"
    )
    assert (table.headings, texts(table)) == (("part", "na me"), [["X-1", "a\nb"]])


def test_rows_keep_their_number_and_empty_rows_are_none():
    table = read_table(b"\n\npart\n\nX-1\n , \nX-2\n", "t.csv")
    assert [number for number, _ in table.rows] == [5, 7]


@pytest.mark.parametrize(
    ("data", "encoding"),
    [
        ("part\nÄ-1\n".encode(), "utf-8-sig"),
        (b"\xef\xbb\xbf" + "part\nÄ-1\n".encode(), "utf-8-sig"),
        ("part\nÄ-1\n".encode("cp1252"), "cp1252"),
        ("part\nÄ-1\n".encode("utf-16"), "utf-16"),
    ],
)
def test_encodings_are_found_and_said(data, encoding):
    table = read_table(data, "t.csv")
    assert (texts(table), encoding in table.read_as) == ([["Ä-1"]], True)


@pytest.mark.parametrize("data", [b"", b"\n \n", b"a\0b", b'part\n"X-1', b"PK\x03\x04damaged", b"\xff\xfe\x00"])
def test_what_is_no_table(data):
    assert refused(data) == "table-unreadable"


def test_files_that_are_too_large(monkeypatch):
    monkeypatch.setattr(reading, "MOST_ROWS", 2)
    assert refused(b"part\n1\n2\n3\n") == "table-too-large"
    monkeypatch.setattr(reading, "MOST_BYTES", 4)
    assert refused(b"part\n") == "table-too-large"


def test_a_workbook_that_unpacks_to_more_than_any_shop_has(monkeypatch):
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as book:
        book.writestr("xl/worksheets/sheet1.xml", b" " * 100_000)
    monkeypatch.setattr(reading, "MOST_UNPACKED", 99_999)
    assert refused(packed.getvalue()) == "table-too-large"


def test_a_workbook_says_what_is_a_number_a_day_or_merged():
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        sheet = book.add_worksheet()
        sheet.write_row(1, 1, ["part", "place", "on"])
        sheet.write_row(2, 1, [412, "R1"])
        sheet.write_datetime(2, 3, date(2024, 3, 4), book.add_format({"num_format": "yyyy-mm-dd"}))
        sheet.write_row(3, 1, [0.1])
        sheet.merge_range(3, 2, 4, 2, "R2")
        sheet.write_row(4, 1, ["S-1"])
    table = read_table(out.getvalue(), "t.xlsx")
    assert table.headings == ("", "part", "place", "on")
    assert tuple((number, cells[1:]) for number, cells in table.rows) == (
        (3, (Cell("412", is_number=True), Cell("R1"), Cell("2024-03-04", day=date(2024, 3, 4)))),
        (4, (Cell("0.1", is_number=True), Cell("R2"), Cell())),
        (5, (Cell("S-1"), Cell("R2", merged_with="C4"), Cell())),
    )


@pytest.mark.parametrize(("down", "across"), [(1_048_575, 16_383), (1_048_575, 0), (199_999, 701)])
def test_a_stray_cell_in_the_far_corner_is_refused_before_the_sheet_is_laid_out(down, across):
    out = io.BytesIO()
    with xlsxwriter.Workbook(out) as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, ["part", "place"])
        sheet.write(down, across, "x")
    assert refused(out.getvalue(), "t.xlsx") == "table-too-large"


def test_columns_by_name_and_the_rest_by_heading():
    row = (Cell("X-1"), Cell("red"), Cell("odd"))
    assert by_column(row, {0: "part", 5: "lot"}) == {"part": Cell("X-1"), "lot": Cell()}
    assert others(row, ("part", "colour"), {0: "part"}) == {"colour": "red", "column 3": "odd"}


# OWASP, CSV injection: cells that begin with = + - @ tab or return are calculated by table programs.
@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@a", "\tx", "\rx", "'", "'=1"])
def test_what_would_be_calculated_is_written_as_text(text):
    assert escaped(text) == f"'{text}"
    assert unescaped(escaped(text)) == text


TEXT = st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=12).filter(lambda text: text == text.strip())


@given(st.lists(st.lists(TEXT, min_size=2, max_size=2).filter(any), max_size=5))
def test_what_is_written_is_read_back_the_same(rows):
    for lines in (csv_lines, workbook):
        table = read_table(b"".join(lines(("one", "two"), rows)), "t")
        assert [[cell.text for cell in cells] for _, cells in table.rows] == rows
    assert len(b"".join(json_lines(("one", "two"), rows)).splitlines()) == len(rows)
