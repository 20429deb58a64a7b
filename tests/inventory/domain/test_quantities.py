"""Amounts: what is read, what asks back, what is refused, and that nothing is lost on the way."""

from __future__ import annotations

import random
import string
import time
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.domain.errors import DomainError
from inventory.domain.quantities import (
    MAX_BASE_AMOUNT,
    BaseAmount,
    base_unit_name,
    check_counted_as,
    convert,
    decimal_text,
    format_amount,
    parse_quantity,
    read_amount,
    shown_amount,
    to_base,
)
from inventory.domain.units import UNITS, Dimension, Unit


@pytest.mark.parametrize(
    ("text", "dimension", "amount", "exact"),
    [
        # 1 in = 25.4 mm and 1 US fl oz = 29.5735295625 mL exactly (16 CFR 500.19, NIST SP 811)
        ("3.5 in", "length", 88_900_000, True),
        ('3.5"', "length", 88_900_000, True),
        ("3.5in", "length", 88_900_000, True),
        ("1/16 in", "length", 1_587_500, True),
        ("1 1/2 in", "length", 38_100_000, True),
        ("1-1/2 in", "length", 38_100_000, True),
        (".139 in", "length", 3_530_600, True),
        ("0.089 m", "length", 89_000_000, True),
        ("10 µm", "length", 10_000, True),
        ("10 μm", "length", 10_000, True),  # Greek mu, as some keyboards give it
        ("10 um", "length", 10_000, True),
        ("2 thou", "length", 50_800, True),
        ("1/3 mm", "length", 333_333, False),
        ("12 mL", "volume", 12_000, True),
        ("12 MLT", "volume", 12_000, True),
        ("2 fl oz", "volume", 59_147, False),
        ("2 UK fl oz", "volume", 56_826, False),
        ("1l", "volume", 1_000_000, True),
        ("118 cm²", "area", 11_800_000_000, True),
        ("118 cm2", "area", 11_800_000_000, True),
        ("4 EA", "count", 4, True),
        ("4 pcs", "count", 4, True),
        ("2 dozen", "count", 24, True),
        ("1.5 dozen", "count", 18, True),
        ("1 pair", "count", 1, True),
        ("2 tubes", "count", 2, True),
        ("26.2 g", "mass", 26_200, True),
        ("1 lb", "mass", 453_592, False),
        ("23 °C", "temperature", 296_150, True),
        ("−10 °C", "temperature", 263_150, True),
        ("50 °F", "temperature", 283_150, True),
        ("8 min", "time", 480, True),
        ("60 N·m", "torque", 60_000, True),
        ("100 4H", "length", 100_000, True),
    ],
)
def test_reads_what_people_type(text: str, dimension: str, amount: int, exact: bool) -> None:
    assert read_amount(text, dimension) == BaseAmount(amount, exact, text)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("3,5 mm", "a comma can mean thousands or decimals"),
        ("1,480 mm", "a comma can mean thousands or decimals"),
        ("12 mL, 3", "a comma can mean thousands or decimals"),
        ("2E+05 EA", "exponent"),
        ("2e5 mm", "exponent"),
        ("1O mm", "a letter O, I or l"),
        ("O.5 mm", "a letter O, I or l"),
        ("1o5 mm", "a letter O, I or l"),
        ("I2 mm", "a letter O, I or l"),
        ("1l mm", "a letter O, I or l"),
        ("1 480 mm", "a space inside the number"),
        ("12", "there is no unit"),
        ("mm", "there is no number"),
        ("", "there is no number"),
        ("NaN mm", "there is no number"),
        ("inf mm", "there is no number"),
        ("-inf mm", "there is no number"),
        ("12 m\x00L", "cannot be printed"),
        ("12\nmL", "cannot be printed"),
        ("\ud80012 mL", "cannot be printed"),
        ("9**9**9 mm", "not a number and a unit"),
        ("3.5.1 mm", "not a number and a unit"),
        ("1/0 in", "a fraction over zero"),
        ("3½ in", "not a number and a unit"),
        ("½ in", "there is no number"),
        ("5² mm", "not a number and a unit"),
        ("٣ mm", "there is no number"),
        ("１２ mm", "there is no number"),
        ("9999999999999 mm", "too many digits"),
        ("0.1234567890 mm", "too many digits"),
        ("__import__('os').system('x')", "there is no number"),
        (" " * 41, "at most 40 characters"),
        ("1" * 10_000 + " mm", "at most 40 characters"),
        ("2 mm; drop table", None),
        ("12 furlongs", None),
        ("12 MM", None),
    ],
)
def test_asks_or_refuses(text: str, words: str | None) -> None:
    with pytest.raises(DomainError) as caught:
        parse_quantity(text)
    if words is None:
        assert caught.value.code == "quantity-unit-unknown"
    else:
        assert caught.value.code == "quantity-unreadable"
        assert words in caught.value.message
    assert caught.value.ways_out
    # what is stored of the refusal can be stored: no NUL, valid UTF-8, short
    typed = caught.value.values["typed"]
    assert typed.isprintable() and len(typed.encode()) <= 200 and "\x00" not in caught.value.message


def test_a_number_without_a_unit_says_how_a_count_is_written() -> None:
    with pytest.raises(DomainError) as caught:
        parse_quantity("20")
    assert [way for way in caught.value.ways_out if "without quotes" in way] and parse_quantity(
        "12 pieces"
    ).number == 12


def test_a_comma_says_the_way_out() -> None:
    with pytest.raises(DomainError) as caught:
        parse_quantity("3,5 mm")
    assert caught.value.ways_out == ("write 3.5 or 3500",)


def test_an_unknown_unit_is_named_and_the_near_one_offered() -> None:
    with pytest.raises(DomainError) as caught:
        parse_quantity("12 MM")
    assert (caught.value.values["unit"], caught.value.ways_out) == ("MM", ("write mm",))


@pytest.mark.parametrize("value", [12, 3.5, None, b"12 mL", ["12 mL"], float("nan")])
def test_only_text_is_read(value: object) -> None:
    with pytest.raises(DomainError) as caught:
        parse_quantity(value)  # type: ignore[arg-type]  # what arrives in JSON may be anything
    assert caught.value.code == "quantity-unreadable"


@pytest.mark.parametrize(
    ("text", "dimension", "code"),
    [
        ("12 mL", "length", "quantity-wrong-dimension"),
        ("4 EA", "volume", "quantity-wrong-dimension"),
        ("12 mm", "area", "quantity-wrong-dimension"),
        ("0.5 EA", "count", "quantity-not-whole"),
        ("1/3 dozen", "count", None),
        ("-1 mm", "length", "quantity-negative"),
        ("-1 EA", "count", "quantity-negative"),
        ("-274 °C", "temperature", "quantity-negative"),
        ("999999999999 m", "length", "quantity-too-large"),
    ],
)
def test_what_cannot_be_held(text: str, dimension: str, code: str | None) -> None:
    if code is None:
        assert read_amount(text, dimension).amount == 4
        return
    with pytest.raises(DomainError) as caught:
        read_amount(text, dimension)
    assert caught.value.code == code


def test_a_height_below_the_block_may_be_asked_for() -> None:
    assert read_amount("-0.040 mm", "length", allow_negative=True).amount == -40_000
    with pytest.raises(DomainError):
        read_amount("-300 °C", "temperature", allow_negative=True)


@pytest.mark.parametrize(
    ("text", "part_unit", "fits"),
    [
        ("4 EA", "PR", True), ("1 pair", "PR", True), ("4 pcs", "PR", False), ("4 pcs", "EA", True), ("2 tubes", "XTU",
        True),
        ("2 tubes", "EA", False), ("1 dozen", "EA", True), ("1 set", "PR", False), ("2 pcs", "XTU", True),
    ],
)  # fmt: skip
def test_counts_are_in_the_unit_the_part_is_counted_in(text: str, part_unit: str, fits: bool) -> None:
    quantity = parse_quantity(text)
    if fits:
        check_counted_as(quantity, part_unit)
        return
    with pytest.raises(DomainError) as caught:
        check_counted_as(quantity, part_unit)
    assert (caught.value.code, caught.value.values["wanted"]) == ("quantity-wrong-dimension", part_unit)


def test_rounding_is_half_to_even() -> None:
    # IEEE 754-2019 section 4.3.1, ties to even
    assert [read_amount(f"{number} nm", "length").amount for number in ("0.5", "1.5", "2.5", "3.5")] == [0, 2, 2, 4]
    assert [decimal_text(Fraction(number, 2), 0) for number in (1, 3, 5, -1, -3)] == ["0", "2", "2", "0", "-2"]


@pytest.mark.parametrize(
    ("amount", "dimension", "unit", "places", "words"),
    [
        (88_900_000, "length", "in", None, "3.5000 in"),
        (88_900_000, "length", "MMT", None, "88.900 mm"),
        (88_900_000, "length", "77", 0, "3500 thou"),
        (59_147, "volume", "fl oz", 2, "2.00 US fl oz"),
        (12_000, "volume", "mL", 1, "12.0 mL"),
        (4, "count", "EA", None, "4 EA"),
        (24, "count", "DZN", None, "2 dozen"),
        (296_150, "temperature", "°C", None, "23.0 °C"),
        (296_150, "temperature", "FAH", None, "73.4 °F"),
        (11_800_000_000, "area", "cm²", 0, "118 cm²"),
        (-40_000, "length", "mm", None, "-0.040 mm"),
        (-400, "length", "mm", 1, "0.0 mm"),
        (10**15, "length", "m", 0, "1000000 m"),
    ],
)
def test_amounts_are_shown_in_the_unit_asked_for(
    amount: int, dimension: str, unit: str, places: int | None, words: str
) -> None:
    assert format_amount(amount, dimension, unit, places) == words


def test_an_amount_is_not_shown_in_a_unit_of_something_else() -> None:
    with pytest.raises(DomainError) as caught:
        format_amount(12, "volume", "mm")
    assert caught.value.code == "quantity-wrong-dimension"
    with pytest.raises(DomainError) as caught:
        format_amount(12, "volume", "furlong")
    assert caught.value.code == "quantity-unit-unknown"


def test_base_unit_names() -> None:
    assert [base_unit_name(dimension) for dimension in ("count", "length", "volume", "mass")] == [
        "piece", "nanometre", "microlitre", "milligram",
    ]  # fmt: skip


@settings(max_examples=200, deadline=None)
@given(
    st.integers(0, 10**9),
    st.integers(0, 9),
    st.sampled_from([unit for unit in UNITS if unit.dimension is not Dimension.COUNT]),
)
def test_what_is_read_is_within_half_a_base_unit(digits: int, places: int, unit: Unit) -> None:
    text = f"{decimal_text(Fraction(digits, 10**places), places)} {unit.symbol}"
    quantity = parse_quantity(text)
    assert quantity.number == Fraction(digits, 10**places)
    try:
        base = to_base(quantity, quantity.unit.dimension)
    except DomainError as error:
        assert error.code == "quantity-too-large"
        return
    assert base.amount <= MAX_BASE_AMOUNT and base.typed == text
    scale = convert(1, quantity.unit) - convert(0, quantity.unit)
    difference = abs(convert(base.amount, quantity.unit) - quantity.number)
    assert difference <= scale / 2 and (difference == 0) == base.exact


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=60))
def test_any_text_is_read_or_refused(text: str) -> None:
    try:
        assert parse_quantity(text).typed == text
    except DomainError as error:
        assert error.code in {"quantity-unreadable", "quantity-unit-unknown"}
        assert "\x00" not in repr(error.values) and error.message.encode()


def test_hostile_text_is_refused_in_microseconds() -> None:
    alphabet = string.digits * 3 + string.ascii_letters + " .,/-+*^()\x00µ°²'\"\\OoIleE"
    chance = random.Random(20240901)
    hostile = [
        "9**9**9**9 mm", "1" * 40, "1." * 20, "(" * 40, "1/" * 20, "0" * 39 + "O", "-" * 40, "1 " * 20, "e" * 40, "9" *
        1_000_000,
        "1e999999999 mm", "1 mm" + " " * 36, "." * 40, "IlO0" * 10, "1OOOOOOOOOOOOOOOOOOOOOOOOOOOOOOOOOOOOa",
    ]  # fmt: skip
    texts = [hostile[i % len(hostile)] if i % 2 else "".join(chance.choices(alphabet, k=40)) for i in range(10_000)]
    refused = 0
    started = time.process_time()
    for text in texts:
        try:
            parse_quantity(text)
        except DomainError:
            refused += 1
    seconds = time.process_time() - started
    assert refused >= 9_300  # "1 mm" and its blanks are 1 mm
    assert seconds < 1.0


@pytest.mark.parametrize(
    ("amount", "base", "text"),
    [
        (4, "piece", "4"),
        (10_461, "microlitre", "10.46 mL"),
        (2_000, "milligram", "2 g"),
        (1_200_000, "microlitre", "1.2 L"),
        (999_999, "microlitre", "1000 mL"),
        (0, "milligram", "0 g"),
        (100_000_000, "milligram", "100 kg"),
        (12_500_000, "nanometre", "12.5 mm"),
        (2_500_000_000, "nanometre", "2.5 m"),
    ],
)
def test_amounts_as_people_read_them(amount: int, base: str, text: str) -> None:
    assert shown_amount(amount, base) == text
