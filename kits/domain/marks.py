"""Paint marks on matched sets: which set is marked for which bore, and which still carry a mark that belongs to nothing.

The words come in the order in which they were said: (use position, serial); an empty position says that the mark was cleaned off.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

#: In place of a use position: the mark was cleaned off.
CLEANED = ""


def bores(words: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Use position → serial of the set that is marked for it: the newest word for a bore, and for a set."""
    found: dict[str, str] = {}
    for position, serial in words:
        found = {place: given for place, given in found.items() if given != serial}
        if position != CLEANED:
            found[position] = serial
    return found


def marked(words: Sequence[tuple[str, str]]) -> tuple[str, ...]:
    """Serials of the sets that carry a mark, sorted. A set whose bore was given to another carries its mark still."""
    newest = {serial: position for position, serial in words}
    return tuple(sorted(serial for serial, position in newest.items() if position != CLEANED))
