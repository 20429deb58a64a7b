"""What the log of a place's temperatures says of a lot that lay there: readings outside what its part allows, and gaps.

A reading is of one moment; between two readings that are no further apart than the shop's interval the log counts as kept. What
is noted stops nothing by itself: a person reads it and decides. Temperatures are whole millikelvin.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import zip_longest

from inventory.domain.storage import Needs, degrees


@dataclass(frozen=True, slots=True)
class Logged:
    """One reading of a place that counts."""

    id: int
    at: datetime
    value_mk: int


@dataclass(frozen=True, slots=True)
class Stay:
    """From when to when some of a lot lay at a place; until None: it lies there still."""

    place: str
    since: datetime
    until: datetime | None


@dataclass(frozen=True, slots=True)
class StorageNote:
    """One note on a lot. what: "outside" or "gap"; until of a gap None: it is open still. readings: ids it rests on."""

    what: str
    place: str
    since: datetime
    until: datetime | None
    said: str
    readings: tuple[int, ...]


OUTSIDE, GAP = "outside", "gap"


def stays_of(moves: Iterable[tuple[datetime, str, int]]) -> tuple[Stay, ...]:
    """Stays from what came to a place (above zero) and went (below). Moves of one moment count together."""
    sums: dict[tuple[datetime, str], int] = {}
    for at, place, amount in moves:
        sums[at, place] = sums.get((at, place), 0) + amount
    there: dict[str, int] = {}
    since: dict[str, datetime] = {}
    found: list[Stay] = []
    for (at, place), amount in sorted(sums.items()):
        there[place] = there.get(place, 0) + amount
        if there[place] > 0 and place not in since:
            since[place] = at
        elif there[place] <= 0 and place in since:
            found.append(Stay(place, since.pop(place), at))
    found += [Stay(place, at, None) for place, at in since.items()]
    return tuple(sorted(found, key=lambda one: (one.since, one.place)))


def notes_on(
    stays: Iterable[Stay], logs: Mapping[str, Sequence[Logged]], needs: Needs, longest: timedelta, now: datetime
) -> tuple[StorageNote, ...]:
    """The notes on a lot, in order of time. logs: place → its readings in order of time; a place without readings keeps no log.

    On the limit, and a gap as long as the interval, is no note.
    """
    found: dict[tuple[str, int], StorageNote] = {}
    for stay in stays:
        until = now if stay.until is None else min(stay.until, now)
        log = [one for one in logs.get(stay.place, ()) if one.at <= now]
        for one in log:
            why = _outside(needs, one.value_mk) if stay.since <= one.at <= until else ""
            if why:
                note = StorageNote(OUTSIDE, stay.place, one.at, one.at, f"{stay.place}: {why}", (one.id,))
                found.setdefault((OUTSIDE, one.id), note)
        for first, last in zip_longest(log, log[1:]):
            end = now if last is None else last.at
            if end - first.at > longest and first.at < until and end > stay.since:
                said = f"{stay.place}: no temperature was read for more than {_hours(longest)}"
                ids = (first.id,) if last is None else (first.id, last.id)
                note = StorageNote(GAP, stay.place, first.at, None if last is None else last.at, said, ids)
                found.setdefault((GAP, first.id), note)
    return tuple(sorted(found.values(), key=lambda one: (one.since, one.what, one.place)))


def _outside(needs: Needs, value_mk: int) -> str:
    if needs.high_mk is not None and value_mk > needs.high_mk:
        return f"{degrees(value_mk)} was read, it is stored not above {degrees(needs.high_mk)}"
    if needs.low_mk is not None and value_mk < needs.low_mk:
        return f"{degrees(value_mk)} was read, it is stored not below {degrees(needs.low_mk)}"
    return ""


def _hours(longest: timedelta) -> str:
    return f"{longest // timedelta(hours=1)} h"
