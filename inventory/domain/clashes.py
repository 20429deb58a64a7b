"""Two devices told different stories about one thing while they were apart: which refusals are such a clash. Pure."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from inventory.domain.quantities import MAX_BASE_AMOUNT

#: Refusals that say: the thing is not where the device saw it, or not what it was, any more.
ABOUT_WHERE = frozenset(
    {
        "backdated-below-zero",
        "hold-ended",
        "not-there",
        "position-empty",
        "position-taken",
        "serial-elsewhere",
        "set-broken",
        "wrong-place",
    }
)


#: Refusals that say nothing of the thing: nobody may do that, or it cannot be read.
_OF_THE_REQUEST = frozenset({"bad-request", "fields-wrong", "not-allowed", "not-found"})


@dataclass(frozen=True, slots=True)
class Told:
    """The newest act that moved a single thing, the device that sent it ("" for a person at a screen), and when it became known."""

    item: int
    act: int
    device: str
    known_at: datetime


def is_number(value: Any) -> bool:
    """Whether this can be the number of a row."""
    return isinstance(value, int) and not isinstance(value, bool) and 0 < value <= MAX_BASE_AMOUNT


def items_named(body: Any) -> Iterator[int]:
    """Every number of an item that a body names, in order; holds are not items."""
    if isinstance(body, Mapping):
        for name, value in body.items():
            if name == "item" and is_number(value):
                yield value
            else:
                yield from items_named(value)
    elif isinstance(body, list):
        for value in body:
            yield from items_named(value)


def clash_with(codes: Collection[str], device: str, done_at: datetime, told: Iterable[Told]) -> Told | None:
    """The first story, where the refusal is a clash: of a single thing another device, or a person, told otherwise.

    codes   of the refusal and of each of its lines. What says that the thing is not where it was seen is a clash whatever the clocks say,
            for a device's may be wrong; any other word on it is one where the first story became known after this was done
    done_at the device's clock when it was done; told: of each single thing that was named, in that order
    """
    if _OF_THE_REQUEST & set(codes):
        return None
    where = bool(ABOUT_WHERE & set(codes))
    return next((one for one in told if one.device != device and (where or one.known_at > done_at)), None)
