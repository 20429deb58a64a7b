"""Rings of a liner that leaked: all of them at that cylinder are scrap, whatever they look like (common practice)."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from inventory.domain.errors import DomainError

#: What seals a liner, by kind of part.
RING_KINDS = frozenset({"O-ring", "seal"})
#: What a leak test of the water jacket speaks of: a test before one of these went in, or came out, says nothing of it.
TESTED_KINDS = RING_KINDS | {"matched set"}
#: How a ring looks when it comes out of its groove. A rolled or a cut one says why it leaked; a whole one leaves the question open.
LOOKS = ("whole", "rolled", "cut")


def look_refused(looked: str, kinds: frozenset[str], position: str) -> DomainError | None:
    """Why a look may not be said of what comes out of a position; None where it may, or where none was said.

    kinds  kinds of the parts that come out there
    """
    if not looked:
        return None
    if looked not in LOOKS:
        said = f"{position}: a ring is {', '.join(LOOKS[:-1])} or {LOOKS[-1]}, not {looked[:40]!r}."
        return DomainError("ring-look-unusable", said, position=position, looked=looked[:40])
    if not kinds <= RING_KINDS:
        said = f"{position}: what comes out there is no ring of a liner: {', '.join(sorted(kinds))}."
        return DomainError("ring-look-unusable", said, position=position, looked=looked)
    return None


def lacking_test(good: bool | None, why: Sequence[str], since: Collection[str]) -> str:
    """Why no passed leak test stands, "" where one does.

    good   of the newest test; None: there was none; why  what spoke against it
    since  use positions of liners and their rings that went in or came out after it
    """
    if good is None:
        return "no leak test is on record"
    if not good:
        return f"the leak test was not passed: {'; '.join(why)}"
    if since:
        return f"the leak test is older than what went in or came out at {', '.join(sorted(since))}"
    return ""


def groove_of(position: str) -> str:
    """The groove that a use position names: "lower-ring" of "CYL-3/lower-ring"."""
    return position.partition("/")[2]


def leak_said(place: str, job: str, looked: str) -> str:
    """One line for the lot: "leaked at CYL-3 on J7, rolled"."""
    return f"leaked at {place} on {job}, {looked or 'not said how the ring looked'}"
