"""The table of units: its codes against the published list, its factors against published figures."""

from __future__ import annotations

from fractions import Fraction

import pytest

from inventory.domain.units import BASE_UNIT, BY_CODE, UNITS, Dimension, Unit, _index, factor, find_unit, near_units

#: UN/CEFACT Rec 20 codes and names, read in a public copy of its list 3 (the MIT-licensed un-ece-recommendation 0.1.1).
REC_20 = {
    "EA": "each", "C62": "one", "H87": "piece", "NAR": "number of articles", "SET": "set", "KT": "kit", "PR": "pair",
    "DZN": "dozen", "LTR": "litre", "MLT": "millilitre", "CMQ": "cubic centimetre", "MMQ": "cubic millimetre",
    "GRM": "gram", "KGM": "kilogram", "MGM": "milligram", "MTR": "metre", "CMT": "centimetre", "MMT": "millimetre",
    "4H": "micrometre (micron)", "INH": "inch", "FOT": "foot", "77": "milli-inch", "LBR": "pound",
    "ONZ": "ounce (avoirdupois)", "OZA": "fluid ounce (US)", "OZI": "fluid ounce (UK)", "GLL": "gallon (US)",
    "NU": "newton metre", "M92": "pound-force foot", "F21": "pound-force inch", "CEL": "degree Celsius",
    "FAH": "degree Fahrenheit", "BAR": "bar [unit of pressure]", "KPA": "kilopascal", "MPA": "megapascal",
    "PS": "pound-force per square inch", "HUR": "hour", "MIN": "minute [unit of time]", "DAY": "day",
    # read in a second public copy of the same list
    "CMK": "square centimetre", "INK": "square inch", "INQ": "cubic inch",
}  # fmt: skip


def test_codes_and_names_are_those_of_the_published_list() -> None:
    assert {unit.code: unit.name for unit in UNITS if unit.code in REC_20} == REC_20


@pytest.mark.parametrize(
    ("code", "scale", "source"),
    [
        ("INH", Fraction(25_400_000), "1 in = 25.4 mm exactly: NIST SP 811 appendix B.8"),
        ("FOT", Fraction(304_800_000), "1 ft = 0.3048 m exactly: NIST SP 811"),
        ("77", Fraction(25_400), "a thousandth of an inch"),
        ("MMT", Fraction(10**6), "SI brochure: prefixes"),
        ("4H", Fraction(10**3), "SI brochure: prefixes"),
        ("C45", Fraction(1), "SI brochure: prefixes"),
        ("LTR", Fraction(10**6), "1 L = 1 dm³: SI brochure table 8"),
        ("CMQ", Fraction(1000), "1 cm³ = 1 mL"),
        ("OZA", Fraction("29573.5295625"), "16 CFR 500.19 prints 29.573 5 mL; exact: 231 in³ / 128"),
        ("OZI", Fraction("28413.0625"), "UK fl oz 28.4130625 mL: 4.54609 L / 160, from memory"),
        ("GLL", Fraction(3_785_411_784, 1000), "231 in³: NIST Handbook 44 appendix C, from memory"),
        ("INQ", Fraction("16387.064"), "16 CFR 500.19 prints 16.3871 mL; exact: 2.54³"),
        ("LBR", Fraction("453592.37"), "1 lb = 0.45359237 kg exactly: NIST SP 811"),
        ("ONZ", Fraction("28349.523125"), "a sixteenth of a pound"),
        ("CMK", Fraction(10**8), "(10⁴ µm)²"),
        ("INK", Fraction(645_160_000), "25.4² mm²"),
        ("HUR", Fraction(3600), "SI brochure table 8"),
        ("NU", Fraction(1000), "SI brochure: prefixes"),
        ("M92", Fraction("1355.8179483314004"), "0.3048 × 0.45359237 × 9.80665; NIST SP 811 B.8 prints 1.355 818 N·m"),
        ("F21", Fraction("112.9848290276167"), "a twelfth of that: 0.0254 × 0.45359237 × 9.80665"),
        ("BAR", Fraction(100_000), "1 bar = 100 kPa"),
        ("DZN", Fraction(12), "a dozen"),
        ("PR", Fraction(1), "a part counted in pairs: one pair is one piece of it"),
    ],
)
def test_factors_are_exact(code: str, scale: Fraction, source: str) -> None:
    assert factor(code) == (scale, 0), source


def test_pressure_in_pounds_is_the_published_figure() -> None:
    # pound-force over square inch: 0.45359237 × 9.80665 / 0.0254² = 6894.757293168361 Pa (NIST SP 811 prints 6.894 757
    # kPa)
    assert factor("PS") == (Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254") ** 2, 0)
    assert float(factor("PS")[0]) == pytest.approx(6894.757293168361, rel=1e-15)


def test_temperatures_have_an_offset() -> None:
    # 0 °C = 273.15 K; 32 °F = 0 °C (SI brochure; NIST SP 811)
    assert factor("CEL") == (1000, 273_150)
    scale, offset = factor("FAH")
    assert (scale, 32 * scale + offset) == (Fraction(5000, 9), 273_150)


def test_every_unit_converts_and_every_name_finds_its_unit() -> None:
    for unit in UNITS:
        scale, _ = factor(unit.code)
        assert scale > 0 and isinstance(scale, Fraction)
        for name in unit.names:
            assert find_unit(name) is unit, name
        if not unit.code.isdigit():
            assert find_unit(unit.code) is unit, unit.code
    assert set(BASE_UNIT) == set(Dimension)


def test_a_code_of_digits_alone_is_not_read_from_typed_text() -> None:
    assert find_unit("77") is None
    assert BY_CODE["77"].symbol == "thou"


@pytest.mark.parametrize(
    ("word", "code"),
    [
        ("EACH", "EA"),
        ("Pcs", "H87"),
        ("FL OZ", "OZA"),
        ("fl. oz.", "OZA"),
        ("UK fl oz", "OZI"),
        ("in.", "INH"),
        ("Tubes", "XTU"),
    ],
)
def test_long_words_are_read_in_any_case(word: str, code: str) -> None:
    found = find_unit(word)
    assert found is not None and found.code == code


@pytest.mark.parametrize("word", ["MM", "Mm", "Mg", "ML", "M", "H", "mPa", "parsec", "", "NM"])
def test_short_words_keep_their_case(word: str) -> None:
    # Mm is a thousand kilometres and Mg a tonne (SI brochure, prefixes): never read as mm and mg
    assert find_unit(word) is None


def test_near_units_differ_by_case_alone() -> None:
    assert near_units("ML") == ("mL",)
    assert near_units("MM") == ("mm",)
    assert near_units("NM") == ("nm", "N·m")
    assert near_units("furlong") == ()


def test_a_table_with_one_name_for_two_units_is_refused() -> None:
    one = Unit("AA", "a", "a", Dimension.COUNT, ("x",))
    with pytest.raises(ValueError, match="x stands for two units"):
        _index((one, Unit("BB", "b", "b", Dimension.COUNT, ("x",))))
    with pytest.raises(ValueError, match="code AA stands twice"):
        _index((one, Unit("AA", "b", "b", Dimension.COUNT)))
