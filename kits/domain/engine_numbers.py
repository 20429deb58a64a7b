"""Engine numbers of a family (a prefix like `X9-`, then digits) and ranges of them.

Digits are compared as whole numbers inside one prefix: 999 lies before 1000, though not as text. Two families' numbers
are never compared.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from inventory.domain.errors import DomainError
from inventory.domain.part_numbers import compare_key, distance
from inventory.domain.text import shown

#: Longest number of digits read: more is a slip of the hand.
MAX_DIGITS = 12
_LETTERS_FOR_DIGITS = str.maketrans("OQILSBZ", "0011582")


@dataclass(frozen=True, slots=True)
class EngineNumber:
    """`prefix` as the family writes it, `digits` as a whole number, `width` digits with leading zeros, `text`
    canonical."""

    prefix: str
    digits: int
    width: int

    @property
    def text(self) -> str:
        """As the family writes it: prefix and zero-padded digits."""
        return f"{self.prefix}{self.digits:0{self.width}d}"

    def __str__(self) -> str:
        return self.text


def _unreadable(text: str, why: str, near: Sequence[str]) -> DomainError:
    return DomainError(
        "engine-number-unreadable",
        f'"{shown(text)}": {why}',
        ways_out=tuple(f"is it {number}?" for number in near),
        typed=shown(text),
        near=list(near),
    )


#: Prefixes of families; a mapping also says how many digits the numbers of each have.
Prefixes = Mapping[str, int] | Iterable[str]


def _widths(prefixes: Prefixes) -> dict[str, int]:
    """prefix -> number of digits, 0 where it is not known."""
    return dict(prefixes) if isinstance(prefixes, Mapping) else dict.fromkeys(prefixes, 0)


def _as_meant(key: str, widths: Mapping[str, int]) -> list[str]:
    """What the key may have been meant as: letters in the digits read as digits, a missing prefix put back."""
    meant: list[str] = []
    for prefix, width in sorted(widths.items()):
        head = compare_key(prefix)
        alike = key.translate(_LETTERS_FOR_DIGITS).startswith(head.translate(_LETTERS_FOR_DIGITS))
        tail = key[len(head) :] if alike else key
        digits = tail.translate(_LETTERS_FOR_DIGITS)
        if digits.isascii() and digits.isdigit() and (len(digits) == width or (alike and width == 0)):
            meant.append(f"{prefix}{digits}")
    return meant


def parse_engine_number(text: str, prefixes: Prefixes, known: Iterable[str] = ()) -> EngineNumber:
    """Read an engine number, forgiving of case, spaces and dashes.

    `prefixes` maps each family's prefix to the number of digits its numbers have (`{"X9-": 6, "Y2-": 4}`); prefixes
    alone leave the number of digits unchecked. More digits than the family has are read as they are (a family outgrows
    its width); fewer ask back, for a lost digit makes another engine. `known` are engine numbers on record, from which
    near matches are offered.

    Raises DomainError `engine-number-unreadable` (values: typed, near) for letters among the digits, a missing or
    unknown prefix, too few or too many digits. A letter O is never silently read as a zero: the answer is a question.
    """
    widths = _widths(prefixes)
    try:
        key = compare_key(text)
    except DomainError as error:
        raise _unreadable(text, "it is not an engine number", ()) from error
    heads = {compare_key(prefix): prefix for prefix in widths}
    head = max((head for head in heads if key.startswith(head)), key=len, default=None)
    prefix, tail = (heads[head], key[len(head) :]) if head is not None else ("", key)
    width = widths.get(prefix, 0)
    why = ""
    if head is None:
        why = f"it does not begin with {' or '.join(sorted(widths))}"
    elif not tail:
        why = "the digits are missing"
    elif not (tail.isascii() and tail.isdigit()):
        why = "letters stand among the digits"
    elif len(tail) < width:
        why = f"too short: {len(tail)} digits, {prefix} has {width}"
    elif len(tail) > MAX_DIGITS:
        why = f"too long: {len(tail)} digits"
    if why:
        raise _unreadable(text, why, tuple(dict.fromkeys([*_as_meant(key, widths), *near_engines(text, known)])))
    return EngineNumber(prefix, int(tail), width or len(tail))


def near_engines(text: str, known: Iterable[str], limit: int = 6) -> list[str]:
    """Engine numbers on record that differ by one digit wrong, missing or too many, two neighbours swapped, or a letter
    for a digit.

    The number itself is not among them. Letters for digits first, then the others; each group in order of number. A
    known number that cannot be read is passed over: it is on record as it was typed.
    """
    try:
        key = compare_key(text)
    except DomainError:
        return []
    plain = key.translate(_LETTERS_FOR_DIGITS)
    ranked: list[tuple[int, str]] = []
    for number in known:
        try:
            other = compare_key(number)
        except DomainError:
            continue
        if other == key:
            continue
        if other.translate(_LETTERS_FOR_DIGITS) == plain:
            ranked.append((0, number))
        elif distance(key, other, 1) == 1:
            ranked.append((1, number))
    return [number for _, number in sorted(ranked)][:limit]


def told_apart(one: str, other: str) -> bool:
    """False where an engine number could be read as one of either family's, dashes left out: `X9-` and `X9`, or `X-` and `X9-`."""
    short, long = sorted((compare_key(one), compare_key(other)), key=len)
    rest = long.removeprefix(short)
    return not (long.startswith(short) and (not rest or (rest.isascii() and rest.isdigit())))


@dataclass(frozen=True, slots=True)
class NumberRange:
    """Engine numbers of one prefix from `first` to `last`, both included; None is an open end; `exceptions` are left
    out.

    `width` is only how the digits are written. Raises DomainError `engine-range-unreadable` for a negative digit, a
    first behind the last, or an exception outside the range.
    """

    prefix: str
    first: int | None = None
    last: int | None = None
    exceptions: frozenset[int] = field(default_factory=frozenset)
    width: int = 1

    def __post_init__(self) -> None:
        ends = [end for end in (self.first, self.last) if end is not None]
        wrong = any(end < 0 for end in ends) or (len(ends) == 2 and ends[0] > ends[1])
        outside = sorted(number for number in self.exceptions if not self._spans(number))
        if wrong or outside:
            raise DomainError(
                "engine-range-unreadable",
                f"{self.prefix} from {self.first} to {self.last}"
                + (f": {outside[0]} is left out of a range it is not in" if outside else " is not a range"),
                prefix=self.prefix, first=self.first, last=self.last, exceptions=outside,
            )  # fmt: skip

    def _spans(self, digits: int) -> bool:
        return (self.first is None or digits >= self.first) and (self.last is None or digits <= self.last)

    def contains(self, number: EngineNumber) -> bool:
        """True when the engine is one of those meant; False for another prefix."""
        return number.prefix == self.prefix and self._spans(number.digits) and number.digits not in self.exceptions

    def _write(self, digits: int) -> str:
        return f"{self.prefix}{digits:0{self.width}d}"

    def words(self) -> str:
        """`from X9-000730`, `below X9-000730`, `X9-000700 to X9-000729`, `only …`, `any …`, and the exceptions."""
        if self.first is None and self.last is None:
            words = f"any {self.prefix}"
        elif self.last is None:
            words = f"from {self._write(self.first or 0)}"
        elif self.first is None:
            words = f"below {self._write(self.last + 1)}"
        elif self.first == self.last:
            words = f"only {self._write(self.first)}"
        else:
            words = f"{self._write(self.first)} to {self._write(self.last)}"
        if self.exceptions:
            words += ", not " + ", ".join(self._write(number) for number in sorted(self.exceptions))
        return words


def number_range(from_: EngineNumber | None, below: EngineNumber | None, prefix: str, width: int) -> NumberRange:
    """The range "from this one on, below that one", as parts lists state it; `below` itself is not in it.

    Raises DomainError `engine-range-unreadable` when an end belongs to another prefix or nothing lies between the ends.
    """
    for end in (from_, below):
        if end is not None and end.prefix != prefix:
            raise DomainError(
                "engine-range-unreadable", f"{end} is not a number of {prefix}", prefix=prefix, end=str(end)
            )
    if below is not None and below.digits == 0:
        raise DomainError("engine-range-unreadable", f"nothing lies below {below}", prefix=prefix, end=str(below))
    first = None if from_ is None else from_.digits
    return NumberRange(prefix, first, None if below is None else below.digits - 1, width=width)


def _common_span(left: NumberRange, right: NumberRange) -> tuple[int, int]:
    """The common span of two ranges of one prefix as (first, last); empty when first > last; -1 for an open upper
    end."""
    first = max(left.first or 0, right.first or 0)
    ends = [end for end in (left.last, right.last) if end is not None]
    return first, min(ends) if ends else -1


def overlaps(left: NumberRange, right: NumberRange) -> bool:
    """True when some engine number lies in both ranges; ranges of two prefixes never overlap."""
    return shared_number(left, right) is not None


def shared_number(left: NumberRange, right: NumberRange) -> str | None:
    """The first engine number that lies in both ranges, in words, or None."""
    if left.prefix != right.prefix:
        return None
    first, last = _common_span(left, right)
    left_out = left.exceptions | right.exceptions
    digits = first
    while last == -1 or digits <= last:
        if digits not in left_out:
            return f"{left.prefix}{digits:0{max(left.width, right.width)}d}"
        digits += 1
    return None


def refuse_overlaps(ranges: Sequence[NumberRange], place: str) -> None:
    """At entry: no two ranges for one place may share an engine number.

    Raises DomainError `engine-ranges-overlap` naming both ranges in words and the first number that is in both.
    """
    for at, left in enumerate(ranges):
        for right in ranges[at + 1 :]:
            shared = shared_number(left, right)
            if shared is not None:
                raise DomainError(
                    "engine-ranges-overlap",
                    f'{place}: "{left.words()}" and "{right.words()}" both take in {shared}',
                    ways_out=("end the first range below the second",),
                    place=place, left=left.words(), right=right.words(), shared=shared,
                )  # fmt: skip


def gaps(ranges: Sequence[NumberRange], first: int | None = None) -> list[NumberRange]:
    """The numbers from `first` on that no range of one place takes in: a warning, not an error.

    `first` is the family's first number; without it, the lowest number that a range names. All ranges have one prefix
    (ValueError otherwise). No range at all leaves no gap: nothing was said about the place. Exceptions that no other
    range takes in are gaps.
    """
    if not ranges:
        return []
    if first is None:
        first = min(span.first or 0 for span in ranges)
    prefix, width = ranges[0].prefix, max(span.width for span in ranges)
    if any(span.prefix != prefix for span in ranges):
        raise ValueError("gaps are asked for within one prefix")
    # beyond every end that is named, nothing changes any more: look at the pieces between the named numbers
    named = {first}
    for span in ranges:
        named.update(number for end in (span.first, span.last) if end is not None for number in (end, end + 1))
        named.update(number for left_out in span.exceptions for number in (left_out, left_out + 1))
    starts = sorted(number for number in named if number >= first)
    found: list[NumberRange] = []
    for at, start in enumerate(starts):
        if any(span.contains(EngineNumber(prefix, start, width)) for span in ranges):
            continue
        last = starts[at + 1] - 1 if at + 1 < len(starts) else None
        if found and found[-1].last is not None and found[-1].last + 1 == start:
            found[-1] = NumberRange(prefix, found[-1].first, last, width=width)
        else:
            found.append(NumberRange(prefix, start, last, width=width))
    return found


def fits_number(key: str, engine: EngineNumber, width: int) -> bool:
    """Whether an engine is in the range that a replacement notice names: "below NUMBER" or "from NUMBER"."""
    word, _, text = key.partition(" ")
    try:
        limit = parse_engine_number(text, {engine.prefix: width})
    except DomainError:
        return False
    return engine.digits < limit.digits if word == "below" else engine.digits >= limit.digits
