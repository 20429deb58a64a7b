"""Part numbers: keys to compare them by, warnings about letters that look like digits, and near misses.

The number itself is kept as the maker printed it; a key is only ever used to find it.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum

from .errors import DomainError
from .text import shown

MAX_CHARACTERS = 60

#: Left out of a compare-key: how a number is spaced and dashed differs from catalogue to catalogue.
_PUNCTUATION = " -‐‑–—−._/\\"
LEFT_OUT = str.maketrans("", "", _PUNCTUATION)

#: Capital letters of other scripts that print like Latin ones: a keyboard of another language, or a copy out of a document, makes them.
#: Unicode Technical Standard #39, confusables: Cyrillic, then Greek.
LIKE_LATIN = str.maketrans("АВЕКМНОРСТУХІЈЅԚԜΑΒΕΖΗΙΚΜΝΟΡΤΥΧ", "ABEKMHOPCTYXIJSQWABEZHIKMNOPTYX")

#: Letters taken for digits in handwriting, worn print and photographs (common practice of the parts counter). Others
#: that can be mistaken (Q, D, Z, G) are too often right as they are.
TAKEN_FOR = {"O": "0", "I": "1", "L": "1", "S": "5", "B": "8"}
_FOLD = str.maketrans(TAKEN_FOR)

#: How far apart two keys may be and still be offered.
MAX_DISTANCE = 2


def compare_key(text: str) -> str:
    """Upper case, compatibility forms made plain (NFKC), letters of other scripts that print like Latin ones as these, spaces, dashes,
    dots, slashes removed: `x 730` -> `X730`.

    Raises DomainError `part-number-unreadable` for nothing, more than 60 characters, a character that cannot be
    printed, or a number that is punctuation alone.
    """
    if not isinstance(text, str) or len(text) > MAX_CHARACTERS or not text.isprintable():
        raise DomainError("part-number-unreadable", f'"{shown(text)}" is no number that can be read', typed=shown(text))
    key = unicodedata.normalize("NFKC", text).upper().translate(LEFT_OUT).translate(LIKE_LATIN)
    if not key:
        raise DomainError("part-number-unreadable", "the number is empty", typed=shown(text))
    return key


def look_of(key: str) -> str:
    """A compare-key as a tired eye reads it: O as 0, I and L as 1, S as 5, B as 8."""
    return key.translate(_FOLD)


def look_alike_key(text: str) -> str:
    """Equal for numbers that a tired eye takes for one another."""
    return look_of(compare_key(text))


def look_alike_warnings(text: str) -> tuple[str, ...]:
    """A sentence for each letter that stands where a digit is likely: directly between, before or behind digits.

    `X7O3` warns of the O; `X-730` and `SB-7300` (letters first, then digits) do not: a leading group of letters is
    taken to be meant.
    """
    key = compare_key(text)
    first_digit = next((at for at, char in enumerate(key) if char.isdigit()), len(key))
    return tuple(
        f"letter {char} at character {at + 1} of {key}: is the digit {TAKEN_FOR[char]} meant?"
        for at, char in enumerate(key)
        if char in TAKEN_FOR and at > first_digit
    )


class Nearness(IntEnum):
    """Why a number was offered, the best first."""

    SAME_KEY = 0
    LOOKS_ALIKE = 1
    SWAPPED = 2
    ONE_OFF = 3
    TWO_OFF = 4


@dataclass(frozen=True, slots=True, order=True)
class NearMiss:
    """A known number near to what was asked for; sorts best first, then by number."""

    nearness: Nearness
    number: str


def distance(left: str, right: str, most: int) -> int:
    """Edits that turn `left` into `right`: one character in, out or changed, or two neighbours swapped; `most` + 1 when
    more.

    The restricted Damerau-Levenshtein distance (no character is edited twice). Source: F. J. Damerau, A technique for
    computer detection and correction of spelling errors, CACM 7 (1964).
    """
    if abs(len(left) - len(right)) > most:
        return most + 1
    before: list[int] = []
    row = list(range(len(right) + 1))
    for at, char in enumerate(left, start=1):
        following = [at]
        for other_at, other in enumerate(right, start=1):
            best = min(row[other_at] + 1, following[-1] + 1, row[other_at - 1] + (char != other))
            swapped = at > 1 and other_at > 1 and char == right[other_at - 2] and left[at - 2] == other
            if swapped:
                best = min(best, before[other_at - 2] + 1)
            following.append(best)
        # a swap reaches two rows back, but that row is at most one better than this one and the swap costs one
        if min(following) > most:
            return most + 1
        before, row = row, following
    return min(row[-1], most + 1)


def _is_one_swap(left: str, right: str) -> bool:
    """Two neighbouring characters changed places and nothing else did."""
    if len(left) != len(right):
        return False
    differs = [at for at, (one, other) in enumerate(zip(left, right, strict=True)) if one != other]
    if len(differs) != 2 or differs[1] != differs[0] + 1:
        return False
    first, second = differs
    return left[first] == right[second] and left[second] == right[first]


class KnownNumbers:
    """Known part numbers, made ready to be searched: build once, ask often.

    What cannot be read as a number (a code of dashes alone) is passed over: nothing is near to it.
    """

    __slots__ = ("_by_key", "_by_length", "_by_look")

    def __init__(self, known: Iterable[str]) -> None:
        self._by_key: dict[str, list[str]] = {}
        self._by_look: dict[str, list[str]] = {}
        self._by_length: dict[int, list[tuple[str, int]]] = {}
        for number in known:
            try:
                key = compare_key(number)
            except DomainError:
                continue
            if key not in self._by_key:
                self._by_length.setdefault(len(key), []).append((key, _letters(key)))
                self._by_look.setdefault(look_of(key), []).append(key)
            self._by_key.setdefault(key, []).append(number)

    def near(self, text: str, limit: int = 8) -> list[NearMiss]:
        """At most `limit` near misses of `text`, ranked: the same key, look-alikes, two characters swapped, one edit,
        two edits.

        Two edits are offered only where the number has at least five characters: of `X730` half the catalogue is two
        edits away.
        Raises DomainError `part-number-unreadable`.
        """
        key = compare_key(text)
        found: dict[str, Nearness] = {}
        for look in self._by_look.get(look_of(key), ()):
            found[look] = Nearness.SAME_KEY if look == key else Nearness.LOOKS_ALIKE
        most = MAX_DISTANCE if len(key) >= 5 else 1
        letters = _letters(key)
        for length in range(len(key) - most, len(key) + most + 1):
            for other, other_letters in self._by_length.get(length, ()):
                # each edit changes at most two bits of the set of characters: a cheap lower bound before the real
                # distance
                if other in found or (letters ^ other_letters).bit_count() > 2 * most:
                    continue
                edits = distance(key, other, most)
                if edits == 1:
                    found[other] = Nearness.SWAPPED if _is_one_swap(key, other) else Nearness.ONE_OFF
                elif edits <= most:
                    found[other] = Nearness.TWO_OFF
        misses = sorted(
            NearMiss(nearness, number) for other, nearness in found.items() for number in self._by_key[other]
        )
        return misses[:limit]


def _letters(key: str) -> int:
    """The set of characters of a key as bits; different characters may share a bit, which only weakens the bound."""
    bits = 0
    for char in key:
        bits |= 1 << (ord(char) & 63)
    return bits


def near_misses(text: str, known: Iterable[str], limit: int = 8) -> list[NearMiss]:
    """`KnownNumbers(known).near(text, limit)` for a single question."""
    return KnownNumbers(known).near(text, limit)
