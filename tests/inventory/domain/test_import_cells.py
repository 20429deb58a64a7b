"""Cells of somebody's spreadsheet: what is read, and what is asked about."""

import json
from datetime import date

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.import_cells import Cell, DayOrder, Evidence, Reads, gather, is_bare, read_cell

DAYS = st.dates(date(1990, 1, 1), date(2024, 12, 31))


def column(reads, *texts, day_order=None):
    """The evidence of a column that holds these texts or cells."""
    cells = [text if isinstance(text, Cell) else Cell(text) for text in texts]
    return gather(({"c": cell} for cell in cells), {"c": reads}, day_order)


def read(text, reads, *others, day_order=None):
    cell = text if isinstance(text, Cell) else Cell(text)
    return read_cell(cell, "c", reads, column(reads, cell, *others, day_order=day_order))


def asked(answer):
    return [(doubt.code, doubt.proposal) for doubt in answer.doubts]


def test_an_empty_cell_is_nothing():
    assert [read(text, reads).value for text in ("", "  ", "\t") for reads in Reads] == [None] * 18


# Zeros in front: 00412 typed into a table program becomes 412 (common practice of everybody who was sent such a file).
def test_zeros_that_a_sheet_dropped_are_asked_about():
    answer = read("412", Reads.IDENTIFIER, "00731", "00812", "S-7")
    assert answer.value == "412"
    assert asked(answer) == [("zeros-eaten", "00412")]
    assert "00412" in answer.doubts[0].words


@pytest.mark.parametrize("text", ["00412", "10412", "S-412", "412A", "1000412"])
def test_numbers_as_wide_as_the_others_or_not_of_digits_are_not_asked_about(text):
    assert read(text, Reads.IDENTIFIER, "00731", "00812").doubts == ()


def test_without_a_zero_in_front_anywhere_nothing_is_eaten():
    assert read("412", Reads.IDENTIFIER, "7310", "88125").doubts == ()


@given(st.integers(1, 9999).map(str), st.integers(2, 9))
def test_a_number_is_asked_about_exactly_where_padding_would_change_it(number, width):
    answer = read(number, Reads.IDENTIFIER, "0" + "1" * (width - 1))
    expected = [("zeros-eaten", number.zfill(width))] if number.zfill(width) != number else []
    assert asked(answer) == expected


def test_a_number_cell_of_a_workbook_is_read_without_its_places():
    assert read(Cell("412.0", is_number=True), Reads.IDENTIFIER).value == "412"
    assert read("412.0", Reads.IDENTIFIER).value == "412.0"


# 200000 shortened to 2E+05, as table programs show numbers that do not fit their column (common practice).
@pytest.mark.parametrize(
    ("text", "proposal"),
    [("2E+05", "200000"), ("2e5", "200000"), ("1.5E+03", "1500"), ("1,25E+2", "125"), ("1.234E+2", ""), ("9E+99", "")],
)
@pytest.mark.parametrize("reads", [Reads.WHOLE, Reads.MONEY, Reads.AMOUNT])
def test_a_shortened_number_is_asked_about_and_written_out(text, proposal, reads):
    answer = read(text, reads)
    assert (answer.value, asked(answer)) == (None, [("exponent", proposal)])


def test_a_part_number_that_was_shortened_has_no_proposal():
    assert asked(read("2E+05", Reads.IDENTIFIER)) == [("exponent", "")]
    assert read("2E05", Reads.IDENTIFIER).doubts == ()


# A decimal comma, and commas between thousands, as table programs of different countries write them (common practice).
@pytest.mark.parametrize(
    ("reads", "text", "proposal"),
    [
        (Reads.MONEY, "1,50", "1.50"),
        (Reads.MONEY, "12,5", "12.5"),
        (Reads.MONEY, "1.234,50", "1234.50"),
        (Reads.MONEY, "1,234.50", "1234.50"),
        (Reads.MONEY, "1,234", "1234"),  # money has no three places
        (Reads.MONEY, "1,234,567.00", "1234567.00"),
        (Reads.AMOUNT, "3,5 mL", "3.5 mL"),
        (Reads.AMOUNT, "108,02mm", "108.02mm"),
        (Reads.AMOUNT, "1,000", ""),
        (Reads.AMOUNT, "1,000 EA", ""),
        (Reads.AMOUNT, "12,0000 L", "12.0000 L"),
    ],
)
def test_a_comma_is_asked_about(reads, text, proposal):
    answer = read(text, reads)
    assert (answer.value, asked(answer)) == (None, [("comma", proposal)])
    if proposal:
        assert read(proposal, reads).doubts == ()


@pytest.mark.parametrize("text", ["1,2,3", "1,50,", ",50", "1.2.3,4", "1,50 or 2", "1,2345.6", "1,505.123"])
def test_what_no_comma_explains_is_no_money(text):
    with pytest.raises(DomainError) as caught:
        read(text, Reads.MONEY)
    assert caught.value.code == "money-unreadable"


def test_both_readings_of_a_comma_are_named_where_both_can_be():
    (doubt,) = read("1,000 EA", Reads.AMOUNT).doubts
    assert doubt.words == "c: a comma can mean thousands or decimals; is 1000 EA or 1.000 EA meant by 1,000 EA?"
    own = column(Reads.AMOUNT, "1,000", "3,5", "4 EA").of("c")
    assert (own.without_unit, own.with_unit) == (2, 1)


def test_merged_cells_are_asked_about_with_the_text_of_the_first():
    answer = read(Cell("TB-R1", merged_with="C4"), Reads.IDENTIFIER)
    assert (answer.value, asked(answer)) == ("TB-R1", [("cell-merged", "TB-R1")])


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2024-03-05", "2024-03-05"),
        ("2024-3-5", "2024-03-05"),
        ("2024-03-05T00:00:00", "2024-03-05"),
        ("25.12.2024", "2024-12-25"),
    ],
)
def test_days_that_can_be_read_one_way_only(text, day):
    answer = read(text, Reads.DAY)
    assert (answer.value, answer.doubts) == (day, ())


def test_the_column_says_which_way_round_its_days_stand():
    assert read("03/04/2024", Reads.DAY, "25/12/2024").value == "2024-04-03"
    assert read("03/04/2024", Reads.DAY, "12/25/2024").value == "2024-03-04"
    assert read("03/04/2024", Reads.DAY, day_order=DayOrder.MONTH_FIRST).value == "2024-03-04"


def test_a_day_that_nothing_in_the_column_decides_is_asked_about():
    answer = read("03/04/2024", Reads.DAY, "05/05/2024")
    assert (answer.value, asked(answer)) == (None, [("day-unclear", "")])
    assert "03 April 2024 or 04 March 2024" in answer.doubts[0].words


def test_a_day_the_other_way_round_than_the_others_is_asked_about():
    answer = read("12/25/2024", Reads.DAY, "25/12/2024", "13/01/2024")
    assert asked(answer) == [("day-swapped", "2024-12-25")]


def test_where_both_ways_are_proven_no_day_that_could_be_either_passes():
    answer = read("03/04/2024", Reads.DAY, "25/12/2024", "13/01/2024", "12/25/2024")
    assert asked(answer) == [("day-swapped", "2024-04-03")]


def test_days_that_the_sheet_understood_only_where_the_day_could_pass_for_a_month():
    """03/04/2024 typed day first where months come first becomes 4 March; 25/12/2024 stays text."""
    held = Cell("2024-03-04", day=date(2024, 3, 4))
    answer = read(held, Reads.DAY, "25/12/2024", "13/01/2024")
    assert (answer.value, asked(answer)) == ("2024-03-04", [("day-swapped", "2024-04-03")])
    late = Cell("2024-03-14", day=date(2024, 3, 14))
    assert read(held, Reads.DAY, "25/12/2024", late).doubts == ()


@pytest.mark.parametrize("text", ["31/02/2024", "2024-13-01", "soon", "0/5/2024", "2024", "1/2/24"])
def test_what_is_no_day_is_refused(text):
    with pytest.raises(DomainError) as caught:
        read(text, Reads.DAY, "25/12/2024")
    assert caught.value.code == "cell-unreadable"


@given(st.lists(DAYS, min_size=1, max_size=8), st.sampled_from(list(DayOrder)))
def test_a_column_written_one_way_round_is_read_back_or_asked_about(days, order):
    """Twin: written by strftime. What passes without a question is what was written."""
    shape = "%d/%m/%Y" if order is DayOrder.DAY_FIRST else "%m/%d/%Y"
    cells = [Cell(day.strftime(shape)) for day in days]
    evidence = column(Reads.DAY, *cells)
    for day, cell in zip(days, cells, strict=True):
        answer = read_cell(cell, "c", Reads.DAY, evidence)
        proven = any(one.day > 12 for one in days)
        if proven or day.day == day.month:
            assert (answer.value, answer.doubts) == (day.isoformat(), ())
        else:
            assert asked(answer) == [("day-unclear", "")]


@given(st.text(max_size=50), st.sampled_from(list(Reads)), st.lists(st.text(max_size=12), max_size=5))
def test_any_text_is_read_asked_about_or_refused_by_name(text, reads, others):
    evidence = column(reads, text, *others)
    try:
        answer = read_cell(Cell(text), "c", reads, evidence)
    except DomainError as error:
        assert error.code in {"cell-unreadable", "money-unreadable"}
    else:
        assert answer.value is None or isinstance(answer.value, str | int)


@given(
    st.lists(
        st.tuples(st.sampled_from(["00412", "25/12/2024", "4", "4 EA", "12/25/2024"]), st.sampled_from(list(Reads))),
        max_size=9,
    )
)
def test_evidence_does_not_depend_on_the_order_of_rows(pairs):
    assume(pairs)
    reads = pairs[0][1]
    forward, backward = (column(reads, *(text for text, _ in rows)).of("c") for rows in (pairs, pairs[::-1]))
    assert forward == backward


@pytest.mark.parametrize(
    ("text", "reads"),
    [("4.5", Reads.WHOLE), ("-4", Reads.WHOLE), ("four", Reads.WHOLE), ("3,505", Reads.WHOLE), ("-1", Reads.MONEY)],
)
def test_numbers_that_are_none_are_refused(text, reads):
    with pytest.raises(DomainError):
        read(text, reads)


@pytest.mark.parametrize("text", ["a" * 2001, "a\0b", "a\ud800b"])
def test_what_cannot_be_kept_is_refused(text):
    with pytest.raises(DomainError) as caught:
        read(text, Reads.TEXT)
    assert caught.value.code == "cell-unreadable"


def test_bare_numbers():
    assert [is_bare(text) for text in ("4", "4.5", "4 EA", "", "four")] == [True, True, False, False, False]


def test_evidence_of_amounts_counts_those_with_a_unit():
    own = column(Reads.AMOUNT, "4", "4 EA", "2E+05", "12 mL").of("c")
    assert (own.with_unit, own.without_unit) == (2, 1)


def test_columns_that_are_not_known_are_not_looked_at():
    evidence = Evidence({"c": Reads.DAY})
    evidence.see({"c": Cell("25/12/2024"), "d": Cell("12/25/2024")})
    assert evidence.of("d").month_first == 0


@given(
    st.lists(st.sampled_from(["00412", "25/12/2024", "4", "4 EA", "12/25/2024"]), max_size=9),
    st.sampled_from(list(Reads)),
)
def test_evidence_and_cells_are_kept_and_read_again(texts, reads):
    evidence = column(reads, *texts, day_order=DayOrder.DAY_FIRST)
    kept = json.loads(json.dumps(evidence.as_plain()))
    again = Evidence.from_plain({"c": reads}, kept)
    assert (again.of("c"), again.day_order) == (evidence.of("c"), evidence.day_order)
    for cell in (Cell("4", is_number=True), Cell("2024-03-04", day=date(2024, 3, 4)), Cell("R1", merged_with="C4")):
        assert Cell.from_plain(json.loads(json.dumps(cell.as_plain()))) == cell


@pytest.mark.parametrize(
    "cell",
    [Cell("2024-03-01", day=date(2024, 3, 1)), Cell("01-Mar"), Cell("yes"), Cell("1234567890123456", is_number=True)],
)
def test_a_number_that_the_sheet_made_something_else_of_is_asked_about_and_nothing_is_proposed(cell):
    answer = read(cell, Reads.IDENTIFIER)
    assert (answer.value, asked(answer)) == (cell.text, [("turned", "")])
    assert read(cell, Reads.TEXT).doubts == ()


@pytest.mark.parametrize("reads", list(Reads))
def test_an_error_of_the_table_program_is_refused_in_every_column(reads):
    with pytest.raises(DomainError) as refused:
        read("#N/A", reads)
    assert refused.value.code == "cell-unreadable"
