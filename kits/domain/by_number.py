"""What of an engine depends on its number: which ranges of the parts lines it lies in, or beside, in words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from kits.domain.engine_numbers import EngineNumber, NumberRange
from kits.domain.procedures import Operation
from kits.domain.spans import spans


@dataclass(frozen=True, slots=True)
class RangeHit:
    """A range of engine numbers that the engine lies in, and the part of which it decides.

    numbers     the range in words ("from X9-000730")
    part        the part; fits: True if engines of the range take it, False if it does not go into them
    at          use positions of the part, drawn together as on paper
    procedures  codes of the operations that name it there
    """

    numbers: str
    part: str
    fits: bool
    at: tuple[str, ...]
    procedures: tuple[str, ...]


def range_hits(operations: Iterable[Operation], number: EngineNumber) -> tuple[RangeHit, ...]:
    """The ranges that an engine number lies in, one for each range and part, in the order of the operations' lines.

    Lines that fit any engine decide nothing and are left out.
    """
    at: dict[tuple[str, str, bool], dict[str, None]] = {}
    by: dict[tuple[str, str, bool], dict[str, None]] = {}
    for operation in operations:
        for line in operation.lines:
            if line.fits is None or line.fits.prefix != number.prefix:
                continue
            fits = line.fits.contains(number)
            hit = line.fits if fits else _beside(line.fits, number)
            key = (hit.words(), line.part, fits)
            at.setdefault(key, {}).update(dict.fromkeys(line.positions))
            by.setdefault(key, {})[operation.code] = None
    return tuple(RangeHit(*key, tuple(spans(list(at[key]))), tuple(by[key])) for key in at)


def _beside(span: NumberRange, number: EngineNumber) -> NumberRange:
    """The range that a number outside of a span lies in: all below it, all from its end on, or the one left out."""
    digits = number.digits
    if span.first is not None and digits < span.first:
        return NumberRange(span.prefix, None, span.first - 1, width=span.width)
    if span.last is not None and digits > span.last:
        return NumberRange(span.prefix, span.last + 1, None, width=span.width)
    return NumberRange(span.prefix, digits, digits, width=span.width)
