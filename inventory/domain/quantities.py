"""Reading amounts that people type, holding them as whole numbers of a base unit, and showing them in the unit asked
for.

What was typed is kept beside the number. A conversion that is not whole in the base unit rounds once, half to even, on
purpose, and says so (`BaseAmount.exact`); what is counted in pieces is never rounded.

The text is read by one pattern over at most 40 characters, without nested repeats, so the time is bounded whatever is
typed; no library's parser ever sees it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from .articles import a
from .errors import DomainError
from .text import shown
from .units import BASE_UNIT, BY_CODE, Dimension, Unit, factor, find_unit, near_units

MAX_CHARACTERS = 40
#: Largest whole number that every JSON reader holds exactly (RFC 7493 section 2.2), so no amount changes on its way
#: out.
MAX_BASE_AMOUNT = 2**53 - 1

#: Base unit -> its dimension, the unit of small amounts, the one of large amounts, and what is large: thousands read badly.
_SHOWN = {
    "microlitre": (Dimension.VOLUME, "MLT", "LTR", 1_000_000),
    "milligram": (Dimension.MASS, "GRM", "KGM", 1_000_000),
    "nanometre": (Dimension.LENGTH, "MMT", "MTR", 1_000_000_000),
}

#: Signs that look alike and mean the same in an amount. Superscripts and ready-made fractions are left alone: folding
#: them would read `3½` as 31/2 and `5² mm` as 52 mm.
_SAME = str.maketrans(
    {
        "\N{GREEK SMALL LETTER MU}": "\N{MICRO SIGN}",
        "\N{MINUS SIGN}": "-",
        "\N{NO-BREAK SPACE}": " ",
        "\N{NARROW NO-BREAK SPACE}": " ",
        "\N{THIN SPACE}": " ",
        "\N{DOUBLE PRIME}": '"',
        "\N{RIGHT DOUBLE QUOTATION MARK}": '"',
        "\N{DOT OPERATOR}": "·",
    }
)
_AMOUNT = re.compile(
    r"(?P<sign>[+-]?)"
    r"(?:(?:(?P<units>[0-9]{1,6})[ -])?(?P<over>[0-9]{1,4})/(?P<under>[0-9]{1,4})"
    r"|(?P<whole>[0-9]{1,12})(?:\.(?P<places>[0-9]{1,9}))?"
    r"|\.(?P<only_places>[0-9]{1,9}))"
    r"(?P<unit>[^0-9].*|)"
)
_LETTER_FOR_DIGIT = re.compile(r"[+-]?(?:[0-9.]+[OoIl][0-9OoIl.]*|[OoIl]+[0-9.][0-9OoIl.]*)(?![A-Za-z])")
_EXPONENT = re.compile(r"[+-]?[0-9.]+[eE][+-]?[0-9]")
_MANY_DIGITS = re.compile(r"[0-9]{13}|\.[0-9]{10}")

#: Signs that a unit may begin with, besides a letter.
_UNIT_SIGNS = '"°\N{MICRO SIGN}'

_HOW = 'write a number and a unit, as in "12 mL" or "3.5 in"'
_HOW_COUNTED = 'what is counted: the number alone, without quotes, or "12 pieces"'


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with its unit: `typed` exactly as it came in, `number` exact."""

    typed: str
    number: Fraction
    unit: Unit


@dataclass(frozen=True, slots=True)
class BaseAmount:
    """`amount` in the base unit of the dimension; `exact` is False where the conversion was rounded; `typed` as it came
    in."""

    amount: int
    exact: bool
    typed: str


def _refuse(text: str, why: str, *ways_out: str) -> DomainError:
    return DomainError(
        "quantity-unreadable", f'"{shown(text)}": {why}', ways_out=ways_out or (_HOW,), typed=shown(text)
    )


def _why_unreadable(text: str, plain: str) -> DomainError:
    """The most helpful sentence for a text that the pattern does not read."""
    if "," in plain:
        return _refuse(text, "a comma can mean thousands or decimals", "write 3.5 or 3500")
    if _EXPONENT.match(plain):
        return _refuse(
            text, "a number with an exponent is not read; a spreadsheet may have changed it", "write it out in full"
        )
    if _MANY_DIGITS.search(plain):
        return _refuse(text, "too many digits: at most 12 before the point and 9 behind it")
    if _LETTER_FOR_DIGIT.match(plain):
        return _refuse(text, "a letter O, I or l stands in the number", "write 0 for zero and 1 for one")
    if not any(char in "0123456789" for char in plain):
        return _refuse(text, "there is no number")
    return _refuse(text, "it is not a number and a unit")


def _why_no_unit(text: str, plain: str, word: str) -> DomainError:
    """The most helpful sentence where the words behind the number are no unit."""
    if _EXPONENT.match(plain) or _LETTER_FOR_DIGIT.match(plain) or _MANY_DIGITS.search(plain):
        return _why_unreadable(text, plain)
    if word[0] in "0123456789":
        return _refuse(text, "there is a space inside the number, or a second number", "write 3500, without a space")
    if not (word[0].isalpha() or word[0] in _UNIT_SIGNS):
        return _refuse(text, "it is not a number and a unit")
    near = near_units(word)
    ways = tuple(f"write {name}" for name in near) or ("use one of the units of the shop's list",)
    message = f'"{shown(word)}" is not a unit we know'
    return DomainError("quantity-unit-unknown", message, ways_out=ways, typed=shown(text), unit=shown(word))


def _number(found: re.Match[str]) -> Fraction | None:
    """The exact number of a match; None for a fraction over zero."""
    if found["over"] is not None:
        if int(found["under"]) == 0:
            return None
        number = int(found["units"] or 0) + Fraction(int(found["over"]), int(found["under"]))
    else:
        places = found["places"] or found["only_places"] or ""
        number = Fraction(int((found["whole"] or "") + places), 10 ** len(places))
    return -number if found["sign"] == "-" else number


def parse_quantity(text: str) -> Quantity:
    """Read `3.5 in`, `0.089 m`, `12 mL`, `2 fl oz`, `4 EA`, `1/16 in`, `1 1/2 in`.

    Raises DomainError: `quantity-unreadable` when it is not one number and one unit (a comma, an exponent, a letter O
    for a zero, a space inside the number ask back), `quantity-unit-unknown` when the unit is not in the closed list.
    """
    if not isinstance(text, str):
        raise _refuse(shown(text), "an amount is sent as text")
    if len(text) > MAX_CHARACTERS:
        raise _refuse(text, f"an amount has at most {MAX_CHARACTERS} characters")
    plain = text.translate(_SAME).strip(" ")
    if not plain.isprintable():
        raise _refuse(text, "there is a character in it that cannot be printed")
    found = _AMOUNT.fullmatch(plain)
    if found is None or "," in plain:
        raise _why_unreadable(text, plain)
    number = _number(found)
    if number is None:
        raise _refuse(text, "a fraction over zero")
    word = " ".join(found["unit"].split())
    if not word:
        raise _refuse(text, "there is no unit", _HOW, _HOW_COUNTED)
    unit = find_unit(word)
    if unit is None:
        raise _why_no_unit(text, plain, word)
    return Quantity(text, number, unit)


def round_half_even(number: Fraction) -> int:
    """The nearest whole number, a tie to the even one: the one rounding of the house (IEEE 754 roundTiesToEven)."""
    return round(number)


def to_base(quantity: Quantity, dimension: Dimension | str, *, allow_negative: bool = False) -> BaseAmount:
    """The amount as a whole number of the dimension's base unit.

    Raises DomainError: `quantity-wrong-dimension` (millilitres asked, millimetres typed), `quantity-not-whole` (half a
    piece), `quantity-negative` (temperatures may be below zero, but not below absolute zero), `quantity-too-large`.
    """
    wanted = Dimension(dimension)
    unit = quantity.unit
    if unit.dimension is not wanted:
        raise DomainError(
            "quantity-wrong-dimension",
            f'"{shown(quantity.typed)}" is {a(unit.dimension)}; {a(wanted)} is wanted',
            typed=shown(quantity.typed),
            unit=unit.code,
            found=str(unit.dimension),
            wanted=str(wanted),
        )
    scale, offset = factor(unit.code)
    exact = quantity.number * scale + offset
    if exact < 0 and (not allow_negative or wanted is Dimension.TEMPERATURE):
        floor = "absolute zero" if wanted is Dimension.TEMPERATURE else "nothing"
        raise DomainError(
            "quantity-negative", f'"{shown(quantity.typed)}" is less than {floor}', typed=shown(quantity.typed)
        )
    if wanted is Dimension.COUNT and exact.denominator != 1:
        raise DomainError(
            "quantity-not-whole",
            f'"{shown(quantity.typed)}" is not a whole number of pieces',
            typed=shown(quantity.typed),
        )
    amount = round_half_even(exact)
    if abs(amount) > MAX_BASE_AMOUNT:
        raise DomainError("quantity-too-large", f'"{shown(quantity.typed)}" is too large', typed=shown(quantity.typed))
    return BaseAmount(amount, exact == amount, quantity.typed)


def read_amount(text: str, dimension: Dimension | str, *, allow_negative: bool = False) -> BaseAmount:
    """`parse_quantity` and `to_base` in one call; their errors."""
    return to_base(parse_quantity(text), dimension, allow_negative=allow_negative)


def check_counted_as(quantity: Quantity, part_unit: str) -> None:
    """A count typed in a unit of its own (pair, set, tube…) must be in the unit the part is counted in.

    `EA`, one, and dozen count whatever the part is counted in. Pieces (pcs, H87) ask where the part is counted in pairs
    or sets: four pieces of bearing shell may be meant as two pairs. Raises DomainError `quantity-wrong-dimension`;
    KeyError for an unknown `part_unit` (a Rec 20 code).
    """
    code, wanted = quantity.unit.code, BY_CODE[part_unit]
    if code in {part_unit, "EA", "C62", "DZN"}:
        return
    if code in {"H87", "NAR"} and part_unit not in {"PR", "SET", "KT"}:
        return
    raise DomainError(
        "quantity-wrong-dimension",
        f'"{shown(quantity.typed)}": this part is counted by the {wanted.symbol}, not by the {quantity.unit.symbol}',
        ways_out=(
            f"write it by the {wanted.symbol}, as in 4 {wanted.symbol}"
            if wanted.names
            else f"write it in {wanted.symbol}",
        ),
        typed=shown(quantity.typed),
        unit=code,
        wanted=part_unit,
    )


def _unit(unit: Unit | str) -> Unit:
    if isinstance(unit, Unit):
        return unit
    found = BY_CODE.get(unit) or find_unit(unit)
    if found is None:
        raise DomainError("quantity-unit-unknown", f'"{shown(unit)}" is not a unit we know', unit=shown(unit))
    return found


def convert(amount: int | Fraction, unit: Unit | str) -> Fraction:
    """`amount` base units of the unit's dimension as an exact number of `unit` (a Unit, a Rec 20 code or a name)."""
    scale, offset = factor(_unit(unit).code)
    return (Fraction(amount) - offset) / scale


def decimal_text(number: Fraction, places: int) -> str:
    """`number` with exactly `places` decimals, rounded half to even; never in exponent form, never minus zero."""
    scaled = round_half_even(number * 10**places)
    return f"{Decimal(scaled).scaleb(-places):f}" if scaled else f"{Decimal(0).scaleb(-places):f}"


def format_amount(amount: int, dimension: Dimension | str, unit: Unit | str, places: int | None = None) -> str:
    """`amount` base units shown in `unit` with its symbol, as in `0.1378 in`; `places` defaults to the unit's own.

    Raises DomainError `quantity-wrong-dimension` when the unit does not measure `dimension`, `quantity-unit-unknown`.
    """
    chosen = _unit(unit)
    wanted = Dimension(dimension)
    if chosen.dimension is not wanted:
        raise DomainError(
            "quantity-wrong-dimension",
            f"{chosen.symbol} does not measure {a(wanted)}",
            unit=chosen.code,
            found=str(chosen.dimension),
            wanted=str(wanted),
        )
    shown_places = chosen.places if places is None else places
    return f"{decimal_text(convert(amount, chosen), shown_places)} {chosen.symbol}"


def shown_amount(amount: int, base: str) -> str:
    """A whole number of base units for people: pieces without a unit, else millilitres or litres, grams or kilograms, millimetres or
    metres, whichever reads better; to two places, none for show."""
    if base == "piece":
        return str(amount)
    dimension, small, large, from_amount = _SHOWN[base]
    number, symbol = format_amount(amount, dimension, large if amount >= from_amount else small, 2).split(" ")
    return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {symbol}"


def base_unit_name(dimension: Dimension | str) -> str:
    """The name of the base unit: `nanometre`, `microlitre`, `piece`, …"""
    return BASE_UNIT[Dimension(dimension)][0]
