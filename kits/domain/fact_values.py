"""Single values of a family's facts: amounts with their unit, spans, positions. What cannot be read is a named problem."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.quantities import parse_quantity, read_amount
from inventory.domain.units import Dimension, factor
from kits.domain.engine_map import EngineMap
from kits.domain.limits import Limits
from kits.domain.reading import Reader


def amount(
    document: Mapping[str, Any], key: str, where: str, dimension: Dimension, reader: Reader, *, required: bool = False
) -> int | None:
    """A typed amount such as `0.030 mm` in whole base units; None where it is absent or cannot be read.

    An amount that would have to be rounded is a problem: a limit says exactly what its maker says.
    """
    value = document.get(key)
    if value is None:
        if required:
            reader.problem(where, f"{key!r} is missing")
        return None
    return one_amount(value, f"{where}, {key}" if where != key else where, dimension, reader)


def one_amount(
    value: object, where: str, dimension: Dimension, reader: Reader, *, below_zero: bool = False
) -> int | None:
    """One typed amount; None and a problem where it cannot be read. below_zero: it may lie below zero."""
    if not isinstance(value, str):
        reader.problem(where, "must be a text with a number and a unit")
        return None
    try:
        found = read_amount(value, dimension, allow_negative=below_zero)
    except DomainError as error:
        reader.problem(where, error.message)
        return None
    if not found.exact:
        reader.problem(where, f"{value!r} is finer than the shop keeps")
        return None
    return found.amount


def seconds(document: Mapping[str, Any], key: str, where: str, reader: Reader) -> Fraction | None:
    """A time in seconds, exactly: a closing time may be 74.25 s."""
    value = document.get(key)
    if value is None:
        return None
    try:
        quantity = parse_quantity(value)
    except DomainError as error:
        reader.problem(f"{where}, {key}", error.message)
        return None
    if quantity.unit.dimension is not Dimension.TIME:
        reader.problem(f"{where}, {key}", f"{value!r} is not a time")
        return None
    return quantity.number * factor(quantity.unit.code)[0]


_KILOMETRES = re.compile(r"([0-9]{1,9}) km")


def kilometres(document: Mapping[str, Any], key: str, where: str, reader: Reader) -> int | None:
    """A distance on the road in whole kilometres: in nanometres it would be longer than amounts are."""
    value = document.get(key)
    if value is None:
        return None
    found = _KILOMETRES.fullmatch(value) if isinstance(value, str) else None
    if found is None:
        reader.problem(f"{where}, {key}", "must be whole kilometres, as in 60000 km")
        return None
    return int(found[1])


def limits(
    document: Mapping[str, Any], where: str, reader: Reader, *, low: str = "low", high: str = "high"
) -> Limits | None:
    """Lengths `low` and `high` of an entry; None and a problem where one is missing, unreadable, or they are turned round."""
    lower, upper = (amount(document, key, where, Dimension.LENGTH, reader, required=True) for key in (low, high))
    if lower is None or upper is None:
        return None
    if lower > upper:
        reader.problem(where, f"{low!r} is above {high!r}")
        return None
    return Limits(lower, upper)


def amounts(document: Mapping[str, Any], key: str, where: str, reader: Reader) -> tuple[int, ...]:
    """A list of lengths, none twice."""
    found = [
        one_amount(value, f"{where}, {key}", Dimension.LENGTH, reader)
        for value in reader.listing(document, key, where, required=True)
    ]
    good = tuple(size for size in found if size is not None)
    if len(set(good)) < len(good):
        reader.problem(where, f"{key!r} holds one size twice")
    return good


def positions(
    document: Mapping[str, Any], key: str, where: str, engine_map: EngineMap, reader: Reader
) -> tuple[str, ...]:
    """Use positions of a pattern or a list of patterns; one that fits nothing is a problem."""
    value = document.get(key)
    patterns = [value] if isinstance(value, str) else value
    if not isinstance(patterns, list) or not patterns or not all(isinstance(one, str) for one in patterns):
        reader.problem(where, f"{key!r} must be a use position, a pattern, or a list of them")
        return ()
    try:
        return engine_map.expand(patterns)
    except DomainError as error:
        reader.problem(where, error.message)
        return ()


QUARTER, CIRCLE = 90, 360


def angles(entry: Mapping[str, Any], key: str, where: str, reader: Reader, step: int = QUARTER) -> tuple[int, ...]:
    """Whole degrees of a full turn, in steps, none twice."""
    values = reader.listing(entry, key, where, required=True)
    good = [one for one in values if isinstance(one, int) and not isinstance(one, bool)]
    if (
        len(good) < len(values)
        or len(set(good)) < len(good)
        or any(one % step or not 0 <= one < CIRCLE for one in good)
    ):
        reader.problem(where, f"{key!r} must hold whole degrees from 0 to below 360, in steps of {step}, none twice")
        return ()
    return tuple(good)
