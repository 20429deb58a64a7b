"""The units the shop measures and counts in: codes, names people type, and what each is held as.

Codes and their meaning: UN/CEFACT Recommendation 20 (units of measure) and, for packages, Recommendation 21 with the
leading X by which Recommendation 20 refers to it. Codes read in a public copy of Recommendation 20 revision 17 / list
3, save where `source` says "from memory". Only what a rebuild shop uses is listed; the list is closed on purpose.

The exact factors are not typed here: Pint's definitions, in a registry of fractions, give them (`factor`). Pint is only
ever given the constant `pint` of a row, never a word that a user typed: its parser reads `2 fl oz` as femtolitres times
ounces, and does not come back from `9**9**9 mm`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cache
from types import MappingProxyType
from typing import Any

READ = "UN/CEFACT Rec 20, public copy read"
READ_21 = "UN/CEFACT Rec 21, public copy read"
MEMORY_21 = "UN/CEFACT Rec 21, name from memory"


class Dimension(StrEnum):
    """What kind of amount; each is held as an integer of one base unit (`BASE_UNIT`)."""

    COUNT = "count"
    LENGTH = "length"
    AREA = "area"
    VOLUME = "volume"
    MASS = "mass"
    TEMPERATURE = "temperature"
    TIME = "time"
    TORQUE = "torque"
    PRESSURE = "pressure"
    POWER = "power"


#: dimension -> (the base unit's name in our own field names, its name for Pint)
BASE_UNIT: Mapping[Dimension, tuple[str, str]] = MappingProxyType(
    {
        Dimension.COUNT: ("piece", ""),
        Dimension.LENGTH: ("nanometre", "nanometer"),
        Dimension.AREA: ("square micrometre", "micrometer**2"),
        Dimension.VOLUME: ("microlitre", "microliter"),
        Dimension.MASS: ("milligram", "milligram"),
        Dimension.TEMPERATURE: ("millikelvin", "millikelvin"),
        Dimension.TIME: ("second", "second"),
        Dimension.TORQUE: ("millinewton metre", "millinewton*meter"),
        Dimension.PRESSURE: ("pascal", "pascal"),
        Dimension.POWER: ("watt", "watt"),
    }
)


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit.

    code      Rec 20 code, as stored and as sent
    name      Rec 20 name
    symbol    how it is shown
    dimension what it measures
    names     other spellings that people type, exact case
    pint      its name for Pint; empty for what is counted
    places    decimal places shown when nobody asks for others (mm to 0.001, inch to 0.0001: the resolution of workshop
    gauges) pieces    for what is counted: pieces in one
    source    where the code was read
    """

    code: str
    name: str
    symbol: str
    dimension: Dimension
    names: tuple[str, ...] = ()
    pint: str = ""
    places: int = 0
    pieces: int = 1
    source: str = READ


_D = Dimension

#: `fl oz` alone is the US one (29.57 mL; the imperial one is 28.41 mL): say `UK fl oz` for the other.
UNITS: tuple[Unit, ...] = (
    Unit("EA", "each", "EA", _D.COUNT, ("ea", "each", "strip", "strips")),
    Unit("C62", "one", "EA", _D.COUNT, ("one",)),
    Unit("H87", "piece", "pcs", _D.COUNT, ("pc", "pcs", "piece", "pieces")),
    Unit("NAR", "number of articles", "pcs", _D.COUNT),
    Unit("DZN", "dozen", "dozen", _D.COUNT, ("doz", "dozen"), pieces=12),
    Unit("SET", "set", "set", _D.COUNT, ("set", "sets")),
    Unit("PR", "pair", "pair", _D.COUNT, ("pr", "pair", "pairs")),
    Unit("KT", "kit", "kit", _D.COUNT, ("kit", "kits")),
    Unit("XTU", "tube", "tube", _D.COUNT, ("tube", "tubes"), source=MEMORY_21),
    Unit("XCQ", "cartridge", "cartridge", _D.COUNT, ("cartridge", "cartridges"), source=READ_21),
    Unit("XBO", "bottle", "bottle", _D.COUNT, ("bottle", "bottles"), source=READ_21),
    Unit("XTN", "tin", "tin", _D.COUNT, ("tin", "tins"), source=MEMORY_21),
    Unit("XCX", "can, cylindrical", "can", _D.COUNT, ("can", "cans"), source=READ_21),
    Unit("XBX", "box", "box", _D.COUNT, ("box", "boxes"), source=READ_21),
    Unit("XBG", "bag", "bag", _D.COUNT, ("bag", "bags"), source=READ_21),
    Unit("MTR", "metre", "m", _D.LENGTH, ("m", "metre", "metres", "meter", "meters"), "meter", 6),
    Unit("CMT", "centimetre", "cm", _D.LENGTH, ("cm",), "centimeter", 4),
    Unit("MMT", "millimetre", "mm", _D.LENGTH, ("mm", "millimetre", "millimeter"), "millimeter", 3),
    Unit("4H", "micrometre (micron)", "µm", _D.LENGTH, ("µm", "um", "micron", "microns"), "micrometer", 1),
    Unit("C45", "nanometre", "nm", _D.LENGTH, ("nm",), "nanometer", 0, source="from memory"),
    Unit("INH", "inch", "in", _D.LENGTH, ("in", "inch", "inches", '"'), "inch", 4),
    Unit("FOT", "foot", "ft", _D.LENGTH, ("ft", "foot", "feet"), "foot", 5),
    Unit("77", "milli-inch", "thou", _D.LENGTH, ("thou", "mil", "mils"), "thou", 1),
    Unit("CMK", "square centimetre", "cm²", _D.AREA, ("cm2", "cm²", "sq cm"), "centimeter**2", 2),
    Unit("MMK", "square millimetre", "mm²", _D.AREA, ("mm2", "mm²", "sq mm"), "millimeter**2", 1),
    Unit("INK", "square inch", "in²", _D.AREA, ("in2", "in²", "sq in"), "inch**2", 3),
    Unit("LTR", "litre", "L", _D.VOLUME, ("L", "l", "litre", "litres", "liter", "liters"), "liter", 3),
    Unit("MLT", "millilitre", "mL", _D.VOLUME, ("mL", "ml", "millilitre", "milliliter"), "milliliter", 2),
    Unit("4G", "microlitre", "µL", _D.VOLUME, ("µL", "µl", "uL", "ul"), "microliter", 0, source="from memory"),
    Unit("CMQ", "cubic centimetre", "cm³", _D.VOLUME, ("cm3", "cm³", "cc", "ccm"), "centimeter**3", 2),
    Unit("MMQ", "cubic millimetre", "mm³", _D.VOLUME, ("mm3", "mm³"), "millimeter**3", 0),
    Unit("INQ", "cubic inch", "in³", _D.VOLUME, ("in3", "in³", "cu in"), "inch**3", 4),
    Unit("OZA", "fluid ounce (US)", "US fl oz", _D.VOLUME, ("fl oz", "floz", "US fl oz"), "fluid_ounce", 3),
    Unit("OZI", "fluid ounce (UK)", "UK fl oz", _D.VOLUME, ("UK fl oz", "imp fl oz"), "imperial_fluid_ounce", 3),
    Unit("GLL", "gallon (US)", "US gal", _D.VOLUME, ("US gal",), "gallon", 4),
    Unit("KGM", "kilogram", "kg", _D.MASS, ("kg", "kilogram", "kilograms"), "kilogram", 3),
    Unit("GRM", "gram", "g", _D.MASS, ("g", "gram", "grams"), "gram", 1),
    Unit("MGM", "milligram", "mg", _D.MASS, ("mg",), "milligram", 0),
    Unit("LBR", "pound", "lb", _D.MASS, ("lb", "lbs", "pound", "pounds"), "pound", 3),
    Unit("ONZ", "ounce (avoirdupois)", "oz", _D.MASS, ("oz", "ounce", "ounces"), "ounce", 3),
    Unit("CEL", "degree Celsius", "°C", _D.TEMPERATURE, ("°C", "degC", "deg C"), "degC", 1),
    Unit("FAH", "degree Fahrenheit", "°F", _D.TEMPERATURE, ("°F", "degF", "deg F"), "degF", 1),
    Unit("SEC", "second [unit of time]", "s", _D.TIME, ("s", "sec"), "second", 0, source="from memory"),
    Unit("MIN", "minute [unit of time]", "min", _D.TIME, ("min", "minute", "minutes"), "minute", 2),
    Unit("HUR", "hour", "h", _D.TIME, ("h", "hour", "hours"), "hour", 2),
    Unit("DAY", "day", "d", _D.TIME, ("d", "day", "days"), "day", 2),
    Unit("NU", "newton metre", "N·m", _D.TORQUE, ("N·m", "Nm", "N m"), "newton*meter", 1),
    Unit("M92", "pound-force foot", "lbf·ft", _D.TORQUE, ("lbf·ft", "lbf ft", "ft lbf"), "force_pound*foot", 1),
    Unit("F21", "pound-force inch", "lbf·in", _D.TORQUE, ("lbf·in", "lbf in", "in lbf"), "force_pound*inch", 1),
    Unit("BAR", "bar [unit of pressure]", "bar", _D.PRESSURE, ("bar",), "bar", 3),
    Unit("KPA", "kilopascal", "kPa", _D.PRESSURE, ("kPa",), "kilopascal", 1),
    Unit("MPA", "megapascal", "MPa", _D.PRESSURE, ("MPa",), "megapascal", 4),
    Unit("PS", "pound-force per square inch", "psi", _D.PRESSURE, ("psi",), "force_pound/inch**2", 2),
    Unit("WTT", "watt", "W", _D.POWER, ("W",), "watt", 0, source="from memory"),
    Unit("KWT", "kilowatt", "kW", _D.POWER, ("kW", "kilowatt"), "kilowatt", 2, source="from memory"),
)


def _index(units: tuple[Unit, ...]) -> tuple[dict[str, Unit], dict[str, Unit], dict[str, list[Unit]]]:
    """By code, by name, by folded name; a code or a name that stands for two units is a defect of the table."""
    by_code: dict[str, Unit] = {}
    by_name: dict[str, Unit] = {}
    by_folded: dict[str, list[Unit]] = {}
    for unit in units:
        if unit.code in by_code:
            raise ValueError(f"code {unit.code} stands twice in the table of units")
        by_code[unit.code] = unit
        for name in unit.names:
            if name in by_name:
                raise ValueError(f"{name} stands for two units")
            by_name[name] = unit
            found = by_folded.setdefault(name.casefold(), [])
            if unit not in found:
                found.append(unit)
    return by_code, by_name, by_folded


_BY_CODE, _BY_NAME, _BY_FOLDED = _index(UNITS)

#: code -> unit
BY_CODE: Mapping[str, Unit] = MappingProxyType(_BY_CODE)
#: spelling, exact case -> unit
BY_NAME: Mapping[str, Unit] = MappingProxyType(_BY_NAME)

#: Shorter spellings must be typed in their own case: `Mm` and `mm`, `Mg` and `mg` differ a thousand million times.
_LETTERS_TO_FOLD = 3


def find_unit(word: str) -> Unit | None:
    """The unit of a typed word: its Rec 20 code, else a name of the closed list; None when it is neither.

    Codes that are digits alone (77) are not looked for in typed text: `100 77` is far more likely a slip than
    milli-inches.
    """
    if not word.isdigit() and word in BY_CODE:
        return BY_CODE[word]
    plain = word.replace(".", "")
    if plain in BY_NAME:
        return BY_NAME[plain]
    if len(plain) >= _LETTERS_TO_FOLD:
        found = _BY_FOLDED.get(plain.casefold(), [])
        if len(found) == 1 and found[0].dimension is not Dimension.PRESSURE:  # mPa is not MPa
            return found[0]
    return None


def near_units(word: str) -> tuple[str, ...]:
    """Spellings that differ from `word` by upper and lower case alone, for a question back."""
    return tuple(unit.names[0] for unit in _BY_FOLDED.get(word.replace(".", "").casefold(), ()))


@cache
def _registry() -> Any:
    """Pint with fractions in place of floats: 25.4 mm is 1 in exactly. Built at the first conversion (0.3 s)."""
    from pint import UnitRegistry

    return UnitRegistry(non_int_type=Fraction)


@cache
def factor(code: str) -> tuple[Fraction, Fraction]:
    """(scale, offset), exact: base units = number × scale + offset. The offset is other than 0 for temperatures alone.

    KeyError for a code that is not in the table. Source: the definitions in Pint's unit file, checked in the tests
    against published figures.
    """
    unit = BY_CODE[code]
    if unit.dimension is Dimension.COUNT:
        return Fraction(unit.pieces), Fraction(0)
    registry = _registry()
    base = BASE_UNIT[unit.dimension][1]
    zero, one = (Fraction(registry.Quantity(Fraction(number), unit.pint).to(base).magnitude) for number in (0, 1))
    return one - zero, zero
