"""What a scanned label says, against published numbers and by writing labels and reading them again."""

import json
import string
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.labels import FNC1, Label, as_data, as_gs1, as_gtin, check_digit, day_of, read_label

DAY = date(2025, 1, 15)
GTIN = "04012345987652"  # gs1/EPCIS Digital Link example


def read(text):
    return read_label(text, DAY)


# GS1's public pages: 6291041500213 and 7300011000017 (check digit pages of GS1 and GS1 Sweden), the others of the examples in
# gs1/EPCIS; 106141412345678908 is an SSCC derived from one of its URNs.
@pytest.mark.parametrize(
    "number",
    [
        "6291041500213",
        "7300011000017",
        "04012345987652",
        "00614141777778",
        "04012345123456",
        "04012345666663",
        "10614141073464",
        "70614141123451",
        "106141412345678908",
    ],
)
def test_published_check_digits(number):
    assert check_digit(number[:-1]) == int(number[-1])


@given(st.text("0123456789", min_size=7, max_size=17), st.integers(0, 16), st.integers(1, 9))
def test_one_wrong_digit_is_always_seen(body, at, more):
    at %= len(body)
    wrong = body[:at] + str((int(body[at]) + more) % 10) + body[at + 1 :]
    assert check_digit(wrong) != check_digit(body)


def test_a_gtin_is_fourteen_digits_or_nothing():
    assert as_gtin("7300011000017") == "07300011000017"
    assert [as_gtin(text) for text in ("7300011000018", "12345", "73000110000A7", "٧300011000017", "")] == [""] * 5


# A worked set of a national GS1 office (gs1.dk), read in 2000 and 2001.
@pytest.mark.parametrize(
    ("digits", "day"),
    [
        ("990701", date(1999, 7, 1)),
        ("990800", date(1999, 8, 31)),
        ("000615", date(2000, 6, 15)),
        ("011126", date(2001, 11, 26)),
    ],
)
def test_published_days(digits, day):
    assert day_of(digits, date(2000, 11, 1)) == day


@given(st.dates(date(2000, 1, 1), date(2099, 12, 31)), st.integers(-49, 50))
def test_the_century_is_the_nearest(today, ahead):
    day = date(today.year + ahead, 6, 15)
    assert day_of(f"{day:%y%m%d}", today) == day


@pytest.mark.parametrize(
    "text",
    [
        f"]C101{GTIN}17280630102244{FNC1}21S-0417",
        f"]d201{GTIN}102244{FNC1}1728063021S-0417",
        f"{FNC1}01{GTIN}102244{FNC1}21S-0417{FNC1}17280630",
        f"01{GTIN}102244{FNC1}1728063021S-0417",  # neither prefix nor the first FNC1, as many scanners are set
        f"(01){GTIN}(17)280630(10)2244(21)S-0417",
        f"[)>\x1e05{FNC1}01{GTIN}17280630102244{FNC1}21S-0417\x1e\x04",
    ],
)
def test_one_label_in_every_form_says_the_same(text):
    assert read(text) == Label("gs1", gtin=GTIN, lot="2244", serial="S-0417", expires_on=date(2028, 6, 30))


def test_a_lot_with_brackets_in_it_is_read_where_it_cannot_be_an_identifier():
    assert read(f"]C101{GTIN}10A(3)").lot == "A(3)"


def test_an_ansi_message_is_read():
    message = "[)>\x1e06\x1d1PA-111\x1d1TSB-2341\x1dQ10\x1d14D20290701\x1dVSALTBY\x1d4LGB\x1e\x04"
    wanted = Label(
        "ansi mh10.8.2", part="A-111", lot="SB-2341", count=10, expires_on=date(2029, 7, 1), supplier="SALTBY",
        other={"4L": "GB"},
    )  # fmt: skip
    assert read(message) == wanted
    assert read(message.removesuffix("\x1e\x04")) == wanted


@pytest.mark.parametrize("text", ["A-111", " S-0417 \r\n", "7300011000017", "R/113", "Düse 3"])
def test_anything_else_is_plain(text):
    assert read(text) == Label("plain", text=text.strip())


def test_without_separators_it_is_read_if_there_is_one_way():
    assert as_gs1(f"01{GTIN}10ABC", DAY) == Label("gs1", gtin=GTIN, lot="ABC")
    assert as_gs1(f"01{GTIN}1728063010ABC", DAY).expires_on == date(2028, 6, 30)
    assert [as_gs1(text, DAY) for text in ("A-111", "0104012345987653", f"01{GTIN}99", "")] == [None] * 4


def test_without_separators_two_ways_are_shown_and_none_is_taken():
    with pytest.raises(DomainError) as two:
        as_gs1(f"01{GTIN}10LOT2117251231", DAY)
    assert two.value.code == "label-ambiguous"
    assert f"(01){GTIN}(10)LOT2117251231" in two.value.values["ways"]
    assert f"(01){GTIN}(10)LOT21(17)251231" in two.value.values["ways"]


def test_a_field_alone_with_its_data_identifier():
    assert as_data("1TSB-2341", DAY) == Label("ansi mh10.8.2", lot="SB-2341")
    assert as_data("SS-0417", DAY).serial == "S-0417"
    assert [as_data(text, DAY) for text in ("A-111", "1T", "4LGB", "Q1O")] == [None] * 4


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "label-unreadable"),
        ("  ", "label-unreadable"),
        ("9" * 401, "label-unreadable"),
        ("]C10104012345987653", "check-digit-wrong"),
        ("(01)04012345987653", "check-digit-wrong"),
        ("(00)106141412345678909", "check-digit-wrong"),
        ("(01)0401234598765", "label-unreadable"),
        (f"(01){GTIN}x(10)", "label-unreadable"),
        (f"(01){GTIN}(10)", "label-unreadable"),
        (f"(01){GTIN}(09)1", "label-unreadable"),
        (f"(01){GTIN}(17)251301", "label-unreadable"),
        (f"(01){GTIN}(10)A(10)B", "label-unreadable"),
        ("]C109ABC", "label-unreadable"),
        ("[)>", "label-unreadable"),
        ("[)>\x1e07\x1dP1\x1e\x04", "label-unreadable"),
        (f"0104012345987653102244{FNC1}21S-0417", "check-digit-wrong"),
        (f"A-111{FNC1}21S-0417", "label-unreadable"),
        (f"21S-0417{FNC1}\x1e21S-0418", "label-unreadable"),
        ("[)>\x1e06\x1d\x1e\x04", "label-unreadable"),
        ("[)>\x1e06\x1dQten\x1e\x04", "label-unreadable"),
        ("[)>\x1e06\x1d14D20250230\x1e\x04", "label-unreadable"),
        ("[)>\x1e06\x1d---\x1e\x04", "label-unreadable"),
        ("[)>\x1e06\x1dPA\x1e06\x1dPB\x1e\x04", "label-unreadable"),
        ("A\x00B", "label-unreadable"),
        ("A\x1eB", "label-unreadable"),
    ],
)
def test_what_is_no_label_is_refused_and_says_why(text, code):
    with pytest.raises(DomainError) as refused:
        read(text)
    assert refused.value.code == code
    json.dumps(refused.value.values)


SIGNS = string.ascii_letters + string.digits + "-._/"
VALUES = st.text(SIGNS, min_size=1, max_size=20)


@given(VALUES, VALUES, st.integers(0, 99_999_999), st.permutations(["lot", "serial", "count", "day"]), st.booleans())
def test_what_is_written_with_separators_is_read_again(lot, serial, count, order, last):
    fields = {"lot": f"10{lot}", "serial": f"21{serial}", "count": f"30{count}", "day": "17280630"}
    text = "".join(fields[name] + ("" if name == "day" else FNC1) for name in order)
    label = read(f"]C1{text if last else text.removesuffix(FNC1)}")
    assert (label.lot, label.serial, label.count, label.expires_on) == (lot, serial, count, date(2028, 6, 30))


@given(VALUES, VALUES)
def test_a_string_that_lost_its_separators_is_read_right_or_not_at_all(lot, serial):
    try:
        label = as_gs1(f"01{GTIN}10{lot}21{serial}", DAY)
    except DomainError as error:
        assert error.code == "label-ambiguous"
        assert len(error.values["ways"]) > 1
    else:
        assert label is not None


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused(text):
    for reader in (read_label, as_gs1, as_data):
        try:
            reader(text, DAY)
        except DomainError as error:
            assert error.code in ("label-unreadable", "check-digit-wrong", "label-ambiguous")


def test_a_long_hostile_string_ends_soon():
    text = "01" + GTIN + "10" + "21" * 150
    try:
        as_gs1(text, DAY)
    except DomainError as error:
        assert error.code == "label-ambiguous"


def test_the_table_says_where_it_comes_from_and_is_whole():
    text = (Path(__file__).parents[3] / "inventory/domain/data/gs1_identifiers.csv").read_text(encoding="utf-8")
    assert text.startswith("# GS1 application identifiers") and "gs1-syntax-dictionary" in text
    assert read("(3103)001250").other == {"3103": "001250"}
    assert read("(8008)2501151030").other == {"8008": "2501151030"}
