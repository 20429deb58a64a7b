"""Sections laid out on sheets: nothing is lost, nothing is too much for its sheet, and the contents name the sheets."""

from hypothesis import given, settings
from hypothesis import strategies as st

from api.rest.paper import CAPTION, EM_MM, LINES, PADDING_MM, RULE, broken, laid_out, width_of
from kits.domain.claim_sheets import Section, Table, contents_of

TEXT = st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Zl", "Zp")), max_size=300)
CELL = st.one_of(st.none(), TEXT)


def wide(line: str) -> float:
    return sum(map(width_of, line)) * EM_MM


@given(TEXT, st.floats(8, 190))
def test_a_text_is_broken_without_losing_a_letter_and_no_line_is_wider(text, room):
    lines = broken(text, room)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert [line for line in lines if wide(line) > room] == []


def test_it_is_broken_between_words_else_after_a_dash_or_a_stroke_else_anywhere():
    assert broken("one two three", 14) == ["one two", "three"]
    assert broken("CYL-1/groove-lower", 22) == ["CYL-1/", "groove-lower"]
    assert broken("W" * 7, 10) == ["WWW", "WWW", "W"]
    assert broken("first\nsecond", 100) == ["first", "second"]
    assert broken("", 10) == [""]


@settings(deadline=None, max_examples=40)
@given(st.lists(st.lists(st.tuples(CELL, CELL, CELL), max_size=60), min_size=1, max_size=4))
def test_everything_is_on_sheets_that_hold_it(tables):
    section = Section(
        "A", tuple(Table(f"t{at}", ("a", "b", "c"), (1, 2, 5), tuple(rows)) for at, rows in enumerate(tables))
    )
    laid = laid_out([section, section], contents_of([section, section]))
    assert laid.pages == len(laid.sheets) + 1
    assert [sheet.page for sheet in laid.sheets] == list(range(2, laid.pages + 1))
    first, second = laid.contents
    assert (first.first, first.last + 1, second.last) == (2, second.first, laid.pages)
    for sheet in laid.sheets:
        used = sum(
            CAPTION + max(map(len, part.heads)) + RULE
            + sum(max(len(cell.lines) for cell in row) + RULE for row in part.rows)
            for part in sheet.parts
        )  # fmt: skip
        assert sheet.parts and all(part.rows for part in sheet.parts)
        assert used <= LINES + 1e-6
    for at, rows in enumerate(tables):
        printed = "".join(
            line
            for sheet in laid.sheets[: len(laid.sheets) // 2]
            for part in sheet.parts
            if part.caption == f"t{at}"
            for row in part.rows
            for line in row[0].lines
        )
        said = "".join("not recorded" if row[0] is None else row[0] for row in rows) if rows else "none"
        assert printed.replace(" ", "") == said.replace(" ", "")


def test_a_row_longer_than_a_sheet_goes_on_and_a_short_one_is_not_broken():
    long = Table("t", ("a", "b"), (1, 1), (("x", "\n".join(map(str, range(200)))), ("y", "z")))
    sheets = laid_out([Section("A", (long,))], contents_of([Section("A", (long,))])).sheets
    assert len(sheets) == 4
    assert [line for sheet in sheets for line in sheet.parts[0].rows[0][1].lines] == list(map(str, range(200)))
    five = Table("t", ("a", "b"), (1, 1), tuple(("x", "1\n2\n3\n4\n5") for _ in range(30)))
    laid = laid_out([Section("A", (five,))], contents_of([Section("A", (five,))]))
    assert {len(row[1].lines) for sheet in laid.sheets for part in sheet.parts for row in part.rows} == {5}


def test_a_table_without_a_row_says_none_or_that_it_is_not_recorded():
    tables = tuple(Table("t", ("a", "b"), (1, 1), (), needed=needed) for needed in (False, True))
    (sheet,) = laid_out([Section("A", tables)], contents_of([Section("A", tables)])).sheets
    assert [(part.rows[0][0].text, part.rows[0][0].gap) for part in sheet.parts] == [
        ("none", False),
        ("not recorded", True),
    ]


def test_no_letter_is_wider_than_it_is_taken_for():
    # Advance widths in thousandths of the size, as published for Helvetica in the PDF standard's AFM files, which Arial and its like share.
    known = {
        " ": 278, "!": 278, '"': 355, "%": 889, "&": 667, "'": 191, "(": 333, "-": 333, "/": 278, "0": 556, ":": 278, "@": 1015, "A": 667,
        "C": 722, "G": 778, "I": 278, "J": 500, "M": 833, "O": 778, "Q": 778, "W": 944, "a": 556, "f": 278, "i": 222, "m": 833, "r": 333,
        "s": 500, "t": 278, "w": 722, "y": 500, "{": 334, "|": 260, "~": 584, "é": 556, "µ": 556, "°": 400, "·": 278,
    }  # fmt: skip
    assert {letter: width for letter, width in known.items() if width_of(letter) * 1000 < width} == {}
    assert PADDING_MM > 0
