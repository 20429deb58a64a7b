"""What readings of clearances, gaps, bearings, end float and projections come to: the verdict, and what it is computed from.

Each function takes readings that were taken together (`kits.domain.taken`) and the facts of the engine family, and gives a document
that says everything the verdict rests on. Readings that may not decide make a pass doubtful. The maker's manual overrides every
limit; what is computed here certifies nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, TypeVar

from inventory.domain.errors import DomainError
from inventory.domain.quantities import decimal_text, read_amount, round_half_even
from inventory.domain.units import Dimension
from kits.domain.allowance import FACTOR, RULE
from kits.domain.clearances import Bore, BoreReading, Piston, bore_of, piston_clearance, printed_disagrees, ring_gap
from kits.domain.facts import Facts
from kits.domain.limits import Limits, Verdict, gauge_too_coarse, worst
from kits.domain.taken import Taken, allowance_of, doubts_of, missing, of

#: Kinds of results that are computed here.
CLEARANCE, GAPS, HALVES, WASHERS, GASKET = (
    "piston clearance",
    "ring gap",
    "bearing halves",
    "thrust washers",
    "gasket grade",
)
KINDS = (CLEARANCE, GAPS, HALVES, WASHERS, GASKET)
COARSE = "the gauges are not good enough for these limits: nothing can pass"
PLAIN = "within the limits only if nothing is allowed for the gauges"

_Found = TypeVar("_Found")


@dataclass(frozen=True, slots=True)
class Chosen:
    """A part that a result chooses for a use position; empty: for whichever position the list has a choice with that part."""

    part: str
    position: str = ""


@dataclass(frozen=True, slots=True)
class Judged:
    """A verdict with its reasons; `document` is JSON-ready, `ids` are the readings it rests on, `chosen` what it chooses."""

    verdict: Verdict
    document: Mapping[str, Any]
    ids: tuple[int, ...]
    chosen: tuple[Chosen, ...] = field(default=())


def judged(
    verdict: Verdict,
    why: Iterable[str],
    taken: Sequence[Taken],
    allowance_nm: int,
    more: Mapping[str, Any],
    chosen: Sequence[Chosen] = (),
    rule: str = RULE,
) -> Judged:
    """The result with what every document has. A doubt about a reading turns a pass into doubtful."""
    reasons = [*why, *doubts_of(taken)]
    if reasons:
        verdict = worst((verdict, Verdict.DOUBTFUL))
    document = {
        "rule": rule,
        "factor": FACTOR,
        "allowance_nm": allowance_nm,
        "verdict": verdict.value,
        "why": reasons,
        **more,
        "chosen": [{"part": one.part, "position": one.position} for one in chosen],
        "readings": [dict(said) for one in taken for said in one.said],
    }
    ids = tuple(reading for one in taken for reading in one.ids)
    return Judged(verdict, document, ids, tuple(chosen))


def mm(length_nm: int | Fraction) -> str:
    """A length in mm for a person, exact, with three decimals at least."""
    whole, _, places = decimal_text(Fraction(length_nm) / 1_000_000, 7).partition(".")
    return f"{whole}.{places.rstrip('0').ljust(3, '0')} mm"


def span(limits: Limits) -> dict[str, int | None]:
    """Limits as they stand in a document."""
    return {"low_nm": limits.low_nm, "high_nm": limits.high_nm}


def need(limits: _Found | None, what: str) -> _Found:
    """The limit; DomainError "no-limit" where the family states none: never a default."""
    if limits is None:
        raise DomainError("no-limit", f"The engine family's document has no limit for {what}.", what=what)
    return limits


def guarded(limits: Limits, allowance_nm: int, choose: Callable[[Limits], _Found]) -> tuple[_Found, str]:
    """What is chosen within the limits less the allowance; where that leaves nothing, within the plain ones, and why it is doubtful."""
    if gauge_too_coarse(limits, allowance_nm):
        return choose(limits), COARSE
    low, high = limits.low_nm, limits.high_nm
    inner = Limits(None if low is None else low + allowance_nm, None if high is None else high - allowance_nm)
    try:
        return choose(inner), ""
    except DomainError as error:
        if error.code != "bearing-impossible":
            raise
    return choose(limits), PLAIN


def judge_clearance(
    taken: Sequence[Taken], facts: Facts, where: str, printed_nm: tuple[int, int] | None = None
) -> Judged:
    """Piston in its liner. printed_nm  bore and piston as the label of the set says, None where it does not.

    Points of a bore read "plane/direction", that of a piston its height ("14 mm"). Raises DomainError "readings-missing",
    "bore-readings-short", "no-limit", "reading-unusable".
    """
    limits = need(facts.piston_clearance, "the piston clearance")
    bores, pistons = of(taken, "bore-diameter"), of(taken, "piston-diameter")
    lacking = [what for what, rows in (("bore-diameter", bores), ("piston-diameter", pistons)) if not rows]
    if lacking:
        raise missing(lacking, where)
    bore = bore_of([_place_of_bore(one) for one in bores])
    one, piston = _piston(pistons, facts.piston_measured_at_nm, where)
    used = (*bores, one)
    allowance = allowance_of(used)
    found = piston_clearance(bore, piston, limits, allowance, facts.piston_measured_at_nm)
    why = [*found.reasons, *([COARSE] if gauge_too_coarse(limits, allowance) else [])]
    more: dict[str, Any] = {
        "limits": span(limits),
        "least_nm": found.least_nm,
        "most_nm": found.most_nm,
        "clearance": mm(found.least_nm) if found.least_nm == found.most_nm else f"{mm(found.least_nm)} to {mm(found.most_nm)}",
        "bore": _said_of(bore),
        "piston": mm(piston.size_nm),
        "bore_mean_nm": round_half_even(bore.mean_nm),
        "piston_nm": piston.size_nm,
    }  # fmt: skip
    if printed_nm is not None:
        printed = printed_nm[0] - printed_nm[1]
        apart = printed_disagrees(printed, found)
        more |= {"printed": mm(printed), "put_aside": apart}
        if apart:
            why.append(f"the label of the set says {mm(printed)}: put the whole set aside and find out why")
    return judged(found.verdict, why, used, allowance, more)


def _place_of_bore(one: Taken) -> BoreReading:
    plane, slash, direction = one.point.partition("/")
    if not (slash and plane.strip() and direction.strip()):
        raise DomainError(
            "bore-readings-short",
            f"{one.point or 'nothing'} names no plane and direction of the bore, as in top/across.",
            point=one.point,
        )
    return BoreReading(plane.strip(), direction.strip(), one.value_nm)


def _piston(rows: Sequence[Taken], stated_nm: int | None, where: str) -> tuple[Taken, Piston]:
    """The piston at the height its maker states; at the only height it was read at, where that is another one."""
    heights = [(one, _height(one.point)) for one in rows]
    fitting = [(one, height) for one, height in heights if stated_nm is not None and height == stated_nm] or heights
    if len(fitting) > 1:
        raise DomainError(
            "reading-unusable",
            f"{where}: the piston was read at several heights, none of them the one its maker states.",
            points=[one.point for one in rows],
        )
    one, height = fitting[0]
    return one, Piston(one.value_nm, height)


def _height(point: str) -> int | None:
    try:
        return read_amount(point, Dimension.LENGTH).amount if point else None
    except DomainError:
        return None


def _said_of(bore: Bore) -> dict[str, str]:
    return {
        "smallest": mm(bore.smallest_nm),
        "largest": mm(bore.largest_nm),
        "out_of_round": mm(bore.out_of_round_nm),
        "taper": mm(bore.taper_nm),
    }


def judge_gaps(taken: Sequence[Taken], facts: Facts, bore: str, used: bool) -> Judged:
    """End gaps of the rings of one bore; the point of a reading is the ring ("top"). All rings of the family are read.

    bore  the place where they go: a gap that was read in another bore is refused ("ring-other-bore")
    used  rings that ran before: the limit of wear counts
    Raises DomainError "readings-missing", "no-limit", "reading-unusable", "limits-unreadable".
    """
    known = {one.ring: one for one in facts.ring_gaps}
    need(known or None, "ring gaps")
    rows = of(taken, "ring-gap")
    for one in rows:
        if one.point not in known:
            raise DomainError(
                "reading-unusable",
                f"{one.point or 'nothing'} is no ring of the engine family: {', '.join(known)}.",
                point=one.point,
                rings=list(known),
            )
    lacking = [ring for ring in known if ring not in {one.point for one in rows}]
    if lacking:
        raise DomainError(
            "readings-missing", f"{bore}: no gap was read of the ring: {', '.join(lacking)}.", rings=lacking, place=bore
        )
    allowance = allowance_of(rows)
    rings, verdicts, why = [], [], []
    for one in rows:
        limits = known[one.point]
        verdict = ring_gap(
            limits, one.value_nm, measured_in=one.place or bore, goes_into=bore, allowance_nm=allowance, used=used
        )
        allowed = Limits(limits.new.low_nm, limits.worn_most_nm) if used else limits.new
        verdicts.append(verdict)
        rings.append({"ring": one.point, "gap": mm(one.value_nm), "limits": span(allowed), "verdict": verdict.value})
        if gauge_too_coarse(allowed, allowance):
            why.append(COARSE)
    return judged(worst(tuple(verdicts)), dict.fromkeys(why), rows, allowance, {"used": used, "rings": rings})
