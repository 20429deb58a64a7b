"""What becomes of a delivery: why a line is set aside, what of it was accepted or rejected, and what its return still owes us.

Pure. Amounts in whole base units, money in whole coins, days by the shop's calendar.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from typing import Any

from inventory.domain.errors import DomainError

#: A credit that is awaited longer than this is among the reminders. Common practice: two months of statements.
MOST_CREDIT_DAYS = 60
#: What the label of a matched set may say as a number, and its words.
LABEL_NUMBERS = {"weight_mg": "weight in mg", "bore_nm": "bore in nm", "piston_nm": "piston diameter in nm"}


class Why(StrEnum):
    """Why a line of a delivery is not accepted as it came."""

    REJECTED = "rejected"
    UNDATED = "undated"
    EXPIRED = "past its day"
    WITHDRAWN = "old stock withdrawn"
    STOPPED = "stopped"
    UNSORTED = "to be sorted"
    LABEL = "label implausible"
    CERTIFICATE = "certificate differs"
    SAMPLE = "to be inspected"
    OVER = "over"
    NOT_ORDERED = "not ordered"
    ASKED = "asked for"


class Settled(StrEnum):
    """What a supplier did with a claim for credit."""

    CREDITED = "credited"
    REFUSED = "refused"


@dataclass(frozen=True, slots=True)
class Delivered:
    """One line of a delivery and what became of it.

    aside     it was set aside: nothing of it is accepted by itself
    accepted  of one that was set aside: released since
    rejected  before it was accepted; rejected_after: after it had been
    gone      of one that was set aside: left quarantine for good, neither accepted nor rejected
    """

    amount: int
    aside: bool = False
    accepted: int = 0
    rejected: int = 0
    rejected_after: int = 0
    gone: int = 0

    @property
    def good(self) -> int:
        """Accepted, and not rejected afterwards."""
        return (self.accepted if self.aside else self.amount - self.rejected) - self.rejected_after

    @property
    def bad(self) -> int:
        """Rejected in all."""
        return self.rejected + self.rejected_after

    @property
    def in_inspection(self) -> int:
        """Neither accepted nor rejected yet, nor gone."""
        return self.amount - self.accepted - self.rejected - self.gone if self.aside else 0


@dataclass(frozen=True, slots=True)
class Rejecting:
    """How much of a rejection comes out of inspection, and how much had been accepted."""

    before: int
    after: int


def rejecting(line: Delivered, amount: int, from_quarantine: bool) -> Rejecting:
    """Which part of a line a rejection speaks of: out of quarantine what is in inspection goes first.

    DomainError "more-than-delivered" where the line has no such amount left.
    """
    before = min(amount, line.in_inspection) if from_quarantine else 0
    after = amount - before
    if after > line.good:
        there = line.good + (line.in_inspection if from_quarantine else 0)
        raise DomainError(
            "more-than-delivered",
            f"{amount} are rejected of a line of which {there} can be: {line.amount} were delivered.",
            asked=amount,
            there=there,
            delivered=line.amount,
        )
    return Rejecting(before, after)


def accept(amount: int, waiting: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Which lines a release from quarantine accepts: (line, in inspection), oldest first → (line, amount accepted).

    What is released beyond what waits came to quarantine by another way.
    """
    shares = []
    for line, there in waiting:
        taken = min(amount, there)
        if taken > 0:
            shares.append((line, taken))
        amount -= max(taken, 0)
    return shares


@dataclass(frozen=True, slots=True)
class Claim:
    """What is asked for goods that were sent back, and how far it is settled; in coins."""

    coins: int
    credited: int = 0
    refused: int = 0

    @property
    def awaited(self) -> int:
        """Neither credited nor refused."""
        return self.coins - self.credited - self.refused


def check_follows(what: str, day: date, after: str, since: date) -> None:
    """Nothing is said to have happened to a thing before the day of what it rests on; on the day itself it may. DomainError "dates-turned"."""
    if day < since:
        raise DomainError(
            "dates-turned",
            f"{what} on {day}, but {after} on {since} only.",
            ways_out=(
                "Say the day on which it really happened.",
                "Take back what has the wrong day, and enter it anew.",
            ),
            day=day.isoformat(),
            since=since.isoformat(),
        )


def check_settles(claim: Claim, coins: int) -> None:
    """DomainError "amount-not-positive", "more-than-outstanding"."""
    if coins <= 0:
        raise DomainError("amount-not-positive", f"{coins} coins settle nothing.", coins=coins)
    if coins > claim.awaited:
        raise DomainError(
            "more-than-outstanding",
            f"{coins} coins, but only {claim.awaited} of {claim.coins} are awaited.",
            coins=coins,
            outstanding=claim.awaited,
        )


def credit_late_from(returned_on: date) -> date:
    """The first day on which a credit is awaited for more than `MOST_CREDIT_DAYS`."""
    return returned_on + timedelta(days=MOST_CREDIT_DAYS + 1)


def check_window(window: Mapping[str, Any]) -> None:
    """What is plausible on a set's label: {"weight_mg": [low, high], "bore_nm": …, "piston_nm": …, "grades": ["A", …]}; {}: anything.

    DomainError "label-window-unreadable".
    """
    for name, value in window.items():
        if name == "grades":
            good = (
                isinstance(value, list) and value and all(isinstance(one, str) and 0 < len(one) <= 20 for one in value)
            )
        else:
            good = (
                name in LABEL_NUMBERS
                and isinstance(value, list)
                and len(value) == 2
                and all(type(one) is int for one in value)
                and 0 <= value[0] <= value[1]
            )
        if not good:
            raise DomainError(
                "label-window-unreadable",
                f"{name}: {value!r} is no window of a set's label.",
                ways_out=('{"weight_mg": [410000, 420000], "grades": ["A", "B"]}',),
                field=name,
            )


#: What a label's weight of a piston may say that lay on the scales.
WEIGHED = ("with pin", "without pin")


def label_weighed(weight_mg: int | None, weighed: str) -> str:
    """What lay on the scales, as it is kept; "" where the label says no weight. DomainError "weight-unsaid" where a weight does not say it,
    for pistons weighed with and without their pins are never compared."""
    said = " ".join(weighed.casefold().split())
    if weight_mg is None and not said:
        return ""
    if weight_mg is None or said not in WEIGHED:
        raise DomainError(
            "weight-unsaid",
            f"The weight on the label of a set says what lay on the scales: {' or '.join(WEIGHED)}.",
            ways_out=("Look at the label, or weigh the piston.",),
            weight_mg=weight_mg,
            weighed=weighed[:40],
        )
    return said


def label_doubts(window: Mapping[str, Any], label: Mapping[str, Any]) -> tuple[str, ...]:
    """What the label of a set says outside its part's window, in sentences; on a limit is inside, what is not said is outside."""
    doubts = []
    for name, words in LABEL_NUMBERS.items():
        if name not in window:
            continue
        low, high = window[name]
        said = label.get(name)
        if said is None:
            doubts.append(f"the label says no {words}")
        elif not low <= said <= high:
            doubts.append(f"{words} {said} is outside {low} to {high}")
    if "grades" in window and label.get("grade", "") not in window["grades"]:
        doubts.append(f"grade {label.get('grade') or 'not said'} is none of {', '.join(window['grades'])}")
    return tuple(doubts)


def gone_of(left: int, there: int, rejected: int, waiting: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """What of the lines that wait went with what left quarantine for good: (line, in inspection), oldest first → (line, amount gone).

    left      so much of the item left now; there: so much is there still, `rejected` of it by a claim
    No more waits than can still be there beside the rejected ones; what came there by another way is taken to have left first.
    """
    excess = min(left, max(0, sum(amount for _, amount in waiting) - max(0, there - rejected)))
    return accept(excess, waiting)


def totals(lines: Iterable[Delivered]) -> dict[str, int]:
    """Delivered, accepted, rejected, gone and in inspection of several lines; the first is always the sum of the others."""
    found = list(lines)
    return {
        "delivered": sum(one.amount for one in found),
        "accepted": sum(one.good for one in found),
        "rejected": sum(one.bad for one in found),
        "gone": sum(one.gone for one in found),
        "in_inspection": sum(one.in_inspection for one in found),
    }
