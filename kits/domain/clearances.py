"""Piston in liner, ring in bore: clearances and gaps from the readings, and what they say.

Parts are measured clean, at the shop's own temperature, and the piston at the height that its maker states, across the pin
axis. The maker's manual overrides every limit here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from inventory.domain.errors import DomainError
from kits.domain.limits import Limits, Verdict, judge, whole_nm, worst

LEAST_PLANES = LEAST_DIRECTIONS = 2
#: A set whose printed clearance lies further than this from the measured one is put aside (common practice).
PRINTED_APART_NM = 20_000


@dataclass(frozen=True, slots=True)
class BoreReading:
    """A bore's size at one place: `plane` (a height, as the sheet names it) and `direction` (along the pin, across it)."""

    plane: str
    direction: str
    size_nm: int


@dataclass(frozen=True, slots=True)
class Bore:
    """A bore from its readings.

    out_of_round_nm  largest difference between directions within one plane
    taper_nm         largest difference between planes in one direction
    mean_nm          exact mean of all readings
    """

    smallest_nm: int
    largest_nm: int
    mean_nm: Fraction
    out_of_round_nm: int
    taper_nm: int


def bore_of(readings: Sequence[BoreReading]) -> Bore:
    """The bore that the readings give. Every plane is read in every direction, two of each at least, each once.

    Raises DomainError `bore-readings-short` (with the places that are missing), `limits-unreadable`.
    """
    at: dict[tuple[str, str], int] = {}
    for one in readings:
        if (one.plane, one.direction) in at:
            raise DomainError(
                "bore-readings-short",
                f"The bore is read twice at {one.plane}, {one.direction}: say which reading counts.",
                plane=one.plane,
                direction=one.direction,
            )
        at[one.plane, one.direction] = whole_nm(one.size_nm, f"the bore at {one.plane}, {one.direction}", least=1)
    planes = list(dict.fromkeys(plane for plane, _ in at))
    directions = list(dict.fromkeys(direction for _, direction in at))
    missing = [f"{plane}, {direction}" for plane in planes for direction in directions if (plane, direction) not in at]
    if len(planes) < LEAST_PLANES or len(directions) < LEAST_DIRECTIONS or missing:
        raise DomainError(
            "bore-readings-short",
            "A bore is read in two planes at least, in two directions each"
            + (f"; missing: {'; '.join(missing)}." if missing else "."),
            planes=planes,
            directions=directions,
            missing=missing,
        )
    rounds = [[at[plane, direction] for direction in directions] for plane in planes]
    lengths = [[at[plane, direction] for plane in planes] for direction in directions]
    return Bore(
        smallest_nm=min(at.values()),
        largest_nm=max(at.values()),
        mean_nm=Fraction(sum(at.values()), len(at)),
        out_of_round_nm=max(max(row) - min(row) for row in rounds),
        taper_nm=max(max(row) - min(row) for row in lengths),
    )


@dataclass(frozen=True, slots=True)
class Piston:
    """A piston's diameter and the height it was measured at; None: nobody wrote the height down."""

    size_nm: int
    height_nm: int | None = None


@dataclass(frozen=True, slots=True)
class Clearance:
    """Piston to liner. least_nm, most_nm  at the smallest and the largest place of the bore; reasons  why it is no better."""

    least_nm: int
    most_nm: int
    mean_nm: Fraction
    verdict: Verdict
    reasons: tuple[str, ...]


def piston_clearance(
    bore: Bore, piston: Piston, limits: Limits, allowance_nm: int = 0, stated_height_nm: int | None = None
) -> Clearance:
    """Bore less piston, at the narrowest and the widest place, both against the limits.

    A piston that was not measured at the height its maker states is doubtful at best, and so is one whose maker's height is
    not on record. Raises DomainError `limits-unreadable`.
    """
    size = whole_nm(piston.size_nm, "the piston", least=1)
    least, most = bore.smallest_nm - size, bore.largest_nm - size
    verdict, reasons = worst((judge(least, limits, allowance_nm), judge(most, limits, allowance_nm))), []
    if stated_height_nm is None:
        reasons.append("the height at which the piston is measured is not on record")
    elif piston.height_nm != stated_height_nm:
        reasons.append("the piston was not measured at the height its maker states")
    if reasons:
        verdict = worst((verdict, Verdict.DOUBTFUL))
    return Clearance(least, most, bore.mean_nm - size, verdict, tuple(reasons))


def printed_disagrees(printed_nm: int, measured: Clearance, apart_nm: int = PRINTED_APART_NM) -> bool:
    """Whether a set's printed clearance lies further than `apart_nm` from the mean measured one: put the whole set aside.

    Exactly `apart_nm` still agrees. A set that disagrees is not the pair that its maker matched, or was measured wrongly.
    """
    return abs(whole_nm(printed_nm, "the printed clearance", least=None) - measured.mean_nm) > apart_nm


@dataclass(frozen=True, slots=True)
class RingLimits:
    """The end gap of one ring: a new ring within `new`; a used one up to `worn_most_nm`, None where none is given."""

    ring: str
    new: Limits
    worn_most_nm: int | None = None


def ring_gap(
    limits: RingLimits, gap_nm: int, *, measured_in: str, goes_into: str, allowance_nm: int = 0, used: bool = False
) -> Verdict:
    """The verdict on a ring's end gap, measured square in its own bore.

    measured_in, goes_into  use positions: another bore is another size, so its gap says nothing
    Raises DomainError `ring-other-bore`; `limits-unreadable`, also for a used ring without a limit of wear.
    """
    if measured_in != goes_into:
        raise DomainError(
            "ring-other-bore",
            f"The gap of the {limits.ring} ring was measured in {measured_in}; it goes into {goes_into}.",
            ways_out=("Measure it in its own bore.",),
            measured_in=measured_in,
            goes_into=goes_into,
        )
    if used and limits.worn_most_nm is None:
        raise DomainError("limits-unreadable", f"No limit of wear is on record for the {limits.ring} ring.")
    allowed = Limits(limits.new.low_nm, limits.worn_most_nm) if used else limits.new
    return judge(whole_nm(gap_nm, "the ring gap"), allowed, allowance_nm)
