"""From readings to a liner's height over its block: points round the bore at 20 °C, what is doubtful about them, the verdict. Pure.

A height is computed from two readings at the same clock hour, the liner's and the block's, or it is gauged directly over the deck.
Each reading is corrected for its own temperature first; repeats are taken together after that. What is missing never helps: a
temperature that nobody read leaves a height on an alloy block doubtful at best, a gauge out of date likewise.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from inventory.domain.errors import DomainError
from inventory.domain.quantities import round_half_even
from kits.domain.allowance import FACTOR, RULE, combined
from kits.domain.expansion import REFERENCE_MK, at_reference
from kits.domain.facts import Facts
from kits.domain.limits import Verdict
from kits.domain.protrusion import (
    CIRCLE_DEG,
    POINTS_LEAST,
    HeightLimits,
    Judgement,
    check_rings,
    check_shim,
    judge,
    microns,
)
from kits.domain.readings import HOURS, MEASURE_AGAIN, agreed
from kits.domain.under_liner import Piece

HOUR_DEG = CIRCLE_DEG // HOURS
#: A correction above this is shown with the height (common practice of measuring rooms).
SHOWN_FROM_NM = 5_000
#: So many hours lie at most between one point and the next round a liner: four points that stand round it, one in each quarter. All in
#: one quarter say nothing of the other side, where the liner may hang (common practice).
GAP_MOST_HOURS = HOURS // POINTS_LEAST
NO_TEMPERATURE = "no temperature was read of part or gauge"
IRON = "iron"


@dataclass(frozen=True, slots=True)
class Read:
    """One reading that counts. `hour`: clock hour from 1 to 12; `gauge_ppm`: expansion of the gauge, None: unknown; `marks`: why it
    may not decide a pass."""

    id: int
    hour: int
    value_nm: int
    uncertainty_nm: int
    part_mk: int | None = None
    gauge_mk: int | None = None
    gauge_ppm: Fraction | None = None
    marks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Gauged:
    """What was read round one liner or one bore.

    points          clock hour → length at 20 °C, whole nanometres; hours whose repeats do not agree are left out
    again           hours to be measured again
    uncertainty_nm  of the least certain gauge
    shift_nm        the largest correction for temperature, without sign
    cold            a temperature is missing that the block needs
    doubts          why it may not decide a pass, each once
    ids             the readings that it rests on
    """

    points: Mapping[int, int]
    again: tuple[int, ...] = ()
    uncertainty_nm: int = 0
    shift_nm: int = 0
    cold: bool = False
    doubts: tuple[str, ...] = ()
    ids: tuple[int, ...] = ()

    def at(self, hours: Sequence[int]) -> tuple[int, ...] | None:
        """The lengths at these hours; None where one was not read."""
        return tuple(self.points[hour] for hour in hours) if all(hour in self.points for hour in hours) else None

    def lacking(self, hours: Iterable[int]) -> list[int]:
        """Which of these hours were not read, or have to be read again."""
        return [hour for hour in hours if hour not in self.points]


NOTHING = Gauged({})


@dataclass(frozen=True, slots=True)
class Growth:
    """How block and liner grow, in parts per million and kelvin; None: the family does not say. `needed`: a height on this block is
    doubtful without temperatures (anything but iron)."""

    block_ppm: Fraction | None
    liner_ppm: Fraction | None
    needed: bool


def growth_of(facts: Facts) -> Growth:
    """From the facts of a family; a block of which nothing is said is taken as one that grows much."""
    its, needed = facts.expansion_ppm, IRON not in facts.texts.get("block", "").lower()
    return Growth(its.get("block"), its.get("liner"), needed)


def limits_of(facts: Facts) -> HeightLimits:
    """What the family asks of the heights. DomainError "no-limit" where its document does not say the limits of the height and of
    one liner."""
    height = facts.protrusion
    if height is None or height.limits.low_nm is None or height.limits.high_nm is None:
        raise DomainError("no-limit", "The family's document has no limits for a liner's height over the block.")
    if facts.within_one_liner_nm is None:
        raise DomainError("no-limit", "The family's document does not say how much the points of one liner may differ.")
    return HeightLimits(
        low_nm=height.limits.low_nm,
        high_nm=height.limits.high_nm,
        within_nm=facts.within_one_liner_nm,
        step_nm=facts.step.limit_nm if facts.step else None,
        facing_deg=facts.step.facing_deg if facts.step else None,
        staircase=facts.step.staircase if facts.step else False,
        turns_deg=None if facts.any_turn else facts.turns_deg or (0,),
        shims_nm=facts.shims.sizes_nm if facts.shims else (),
        rings_nm=facts.base_rings.sizes_nm if facts.base_rings else (),
        target_nm=height.target_nm,
    )


def gauging_said(facts: Facts) -> dict[str, Any]:
    """How the family's maker wants liners gauged, JSON-ready: in words, and what clamps them, its torque quoted with where it stands."""
    height, clamping = facts.protrusion, facts.clamping
    return {
        "how": height.gauged if height is not None else "",
        "clamping": None
        if clamping is None
        else {"bolts": clamping.bolts, "torque": clamping.torque, "from": clamping.source},
    }


def gauged(reads: Iterable[Read], part_ppm: Fraction | None, needed: bool) -> Gauged:
    """Readings round one liner or bore, taken together hour by hour: those that may decide a pass before those that may not, so that
    what was read again with a gauge in date is not spoilt by what was read before.

    part_ppm  expansion of what was read; None: the family does not say
    needed    without temperatures it is doubtful at best
    """
    rows = list(reads)
    if not rows:
        return NOTHING
    by_hour: dict[int, list[tuple[Read, int, tuple[str, ...]]]] = {}
    for row in rows:
        value, doubt = _at_20(row, part_ppm, needed)
        by_hour.setdefault(row.hour, []).append((row, value, (*row.marks, *([doubt] if doubt else []))))
    counting = {hour: [one for one in found if not one[2]] or found for hour, found in by_hour.items()}
    taken = [one for found in counting.values() for one in found]
    doubts = tuple(dict.fromkeys(doubt for _, _, mine in taken for doubt in mine))
    uncertainty = max(row.uncertainty_nm for row, _, _ in taken)
    points, again = {}, []
    for hour, found in sorted(counting.items(), key=lambda one: one[0] % HOURS):
        agreeing = agreed([value for _, value, _ in found], combined([uncertainty]))
        if agreeing.value is None:
            again.append(hour)
        else:
            points[hour] = agreeing.value
    largest = max(abs(value - row.value_nm) for row, value, _ in taken)
    ids = tuple(sorted(row.id for row, _, _ in taken))
    return Gauged(points, tuple(again), uncertainty, largest, NO_TEMPERATURE in doubts, doubts, ids)


def _at_20(row: Read, part_ppm: Fraction | None, needed: bool) -> tuple[int, str]:
    """The length with part and gauge at 20 °C, and what is doubtful about it."""
    if row.part_mk is None or row.gauge_mk is None:
        return row.value_nm, NO_TEMPERATURE if needed else ""
    if row.part_mk == row.gauge_mk == REFERENCE_MK:
        return row.value_nm, ""
    if part_ppm is None or row.gauge_ppm is None:
        return row.value_nm, "not read at 20 °C, and it is not on record how part or gauge grows"
    return round_half_even(at_reference(row.value_nm, row.part_mk, row.gauge_mk, part_ppm, row.gauge_ppm)), ""


def common_hours(every: Iterable[Gauged]) -> tuple[int, ...]:
    """The hours that all of them were read at, from 12 o'clock on."""
    rows = [set(one.points) for one in every]
    return tuple(sorted(set.intersection(*rows), key=lambda hour: hour % HOURS)) if rows else ()


def beside_each_other(hours: Sequence[int]) -> str:
    """What is doubtful about where the points stand; empty where they stand round. Too few points are doubtful by their number."""
    if len(hours) < POINTS_LEAST:
        return ""
    gaps = [(after - before) % HOURS for before, after in zip(hours, (*hours[1:], hours[0]), strict=True)]
    widest = max(gaps)
    if widest <= GAP_MOST_HOURS:
        return ""
    at = gaps.index(widest)
    return (
        f"the points do not stand round it: none between {hours[at]} and {hours[(at + 1) % len(hours)]} o'clock, "
        f"at most {GAP_MOST_HOURS} hours may lie between two"
    )


@dataclass(frozen=True, slots=True)
class Under:
    """What is under a liner, and how its seat was cut since it was read. shim, ring: as they were read, None: by their nominal size."""

    shim_nm: int = 0
    ring_nm: int = 0
    cut_nm: int = 0
    ledge_cracked: bool = False
    shim: Piece | None = None
    ring: Piece | None = None

    @property
    def raises_nm(self) -> int:
        """By how much all of it raises the liner."""
        shim = self.shim.thickness_nm if self.shim else self.shim_nm
        return shim + (self.ring.thickness_nm if self.ring else self.ring_nm) - self.cut_nm

    @property
    def read(self) -> dict[str, Piece]:
        """What of it was read, by name."""
        return {name: one for name, one in (("shim", self.shim), ("base ring", self.ring)) if one is not None}


@dataclass(frozen=True, slots=True)
class Stands:
    """A set in a bore, judged. `heights_nm` by clock hour of the bore; `allowance_nm` is U."""

    judgement: Judgement
    hours: tuple[int, ...]
    heights_nm: tuple[int, ...]
    allowance_nm: int
    notes: tuple[str, ...]
    ids: tuple[int, ...]


def recut_most_nm(facts: Facts) -> int:
    """How deep a new seat may be cut by the facts of the family; 0: not at all."""
    return facts.shims.recut_most_nm or 0 if facts.shims else 0


def check_under(under: Under, most_nm: int, limits: HeightLimits) -> None:
    """DomainError "stack-refused" for a shim or a base ring that is not set there, or a cut deeper than what may still come off."""
    check_shim(under.shim_nm, limits, ledge_cracked=under.ledge_cracked)
    check_rings([under.ring_nm] if under.ring_nm or limits.rings_nm else [], limits)
    if under.cut_nm > most_nm:
        text = f"A cut of {microns(under.cut_nm)} is deeper than what may still come off here: {microns(most_nm)}."
        raise DomainError("stack-refused", text, cut_nm=under.cut_nm, most_nm=most_nm)


def stands(liner: Gauged, block: Gauged, turn_deg: int, under: Under, limits: HeightLimits) -> Stands:
    """The verdict of a liner in a bore, turned so far clockwise from how it was read.

    DomainError "height-not-read" where no hour of the liner meets one of the bore; "heights-unusable" for a turn that is not allowed.
    """
    if turn_deg % HOUR_DEG or (limits.turns_deg is not None and turn_deg not in limits.turns_deg):
        raise DomainError("heights-unusable", f"A turn of {turn_deg}° is not allowed here.", turn_deg=turn_deg)
    turned = {(hour + turn_deg // HOUR_DEG - 1) % HOURS + 1: value for hour, value in liner.points.items()}
    hours = common_hours([replace(liner, points=turned), block])
    if not hours:
        raise _not_read(liner, block)
    heights = tuple(turned[hour] - block.points[hour] + under.raises_nm for hour in hours)
    pieces = [one.uncertainty_nm for one in under.read.values()]
    allowance = combined([liner.uncertainty_nm, block.uncertainty_nm, *pieces])
    return _judged(heights, hours, allowance, limits, (liner, block), under)


def _not_read(liner: Gauged, block: Gauged) -> DomainError:
    bare = [what for what, row in (("the liner", liner), ("the bore", block)) if not row.points]
    text = f"Nothing that counts was read of {' and '.join(bare)} round the clock."
    if not bare:
        text = "Liner and block were not read at the same clock hours."
    return DomainError(
        "height-not-read",
        text,
        ways_out=("Read liner and bore at 12, 3, 6 and 9 o'clock, dry and clean.",),
        liner=list(liner.points),
        bore=list(block.points),
    )


def stands_directly(over_deck: Gauged, limits: HeightLimits) -> Stands:
    """The verdict of a liner that was gauged over the deck as it stands. DomainError "height-not-read" for no reading."""
    hours = common_hours([over_deck])
    if not hours:
        raise DomainError("height-not-read", "No height over the deck was read.")
    heights = tuple(over_deck.points[hour] for hour in hours)
    return _judged(heights, hours, combined([over_deck.uncertainty_nm]), limits, (over_deck,))


def _judged(
    heights: tuple[int, ...],
    hours: tuple[int, ...],
    allowance: int,
    limits: HeightLimits,
    rows: Sequence[Gauged],
    under: Under | None = None,
) -> Stands:
    found = judge(heights, limits, allowance, temperature_missing=any(row.cold for row in rows))
    notes = [doubt for row in rows for doubt in row.doubts if doubt != NO_TEMPERATURE]
    notes += [f"{MEASURE_AGAIN} at {hour} o'clock" for row in rows for hour in row.again]
    notes += [doubt for doubt in [beside_each_other(hours)] if doubt]
    pieces = under.read if under else {}
    notes += [f"{name}: {doubt}" for name, one in pieces.items() for doubt in one.doubts]
    shown = shift_said(max(row.shift_nm for row in rows))
    shown += tuple(f"the {name} was read {microns(one.thickness_nm)}" for name, one in pieces.items())
    rests = {one for row in rows for one in row.ids} | {one for row in pieces.values() for one in row.ids}
    ids = tuple(sorted(rests))
    return Stands(lowered(found, notes), hours, heights, allowance, shown, ids)


def shift_said(shift_nm: int) -> tuple[str, ...]:
    """A correction for temperature that is large enough to be shown; () for a smaller one."""
    return (f"corrected for temperature by up to {microns(shift_nm)}",) if shift_nm > SHOWN_FROM_NM else ()


def lowered(found: Judgement, doubts: Iterable[str]) -> Judgement:
    """The judgement with further doubts: what they are about never passes."""
    said = tuple(dict.fromkeys(doubts))
    if not said:
        return found
    verdict = found.verdict if found.verdict is Verdict.FAIL else Verdict.DOUBTFUL
    return Judgement(verdict, found.points, (*found.why, *said))


def said(found: Stands, turn_deg: int, under: Under) -> dict[str, Any]:
    """The document of a verdict, JSON-ready."""
    return {
        "verdict": found.judgement.verdict.value,
        "why": list(found.judgement.why),
        "points": [
            {"hour": hour, "height_nm": height, "verdict": verdict.value}
            for hour, height, verdict in zip(found.hours, found.heights_nm, found.judgement.points, strict=True)
        ],
        "turn_deg": turn_deg,
        "shim_nm": under.shim_nm,
        "ring_nm": under.ring_nm,
        "shim_read_nm": under.shim.thickness_nm if under.shim else None,
        "ring_read_nm": under.ring.thickness_nm if under.ring else None,
        "cut_nm": under.cut_nm,
        "ledge_cracked": under.ledge_cracked,
        "notes": list(found.notes),
        "allowance_nm": found.allowance_nm,
        "factor": FACTOR,
        "rule": RULE,
    }
