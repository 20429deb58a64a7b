"""Which bearing halves, which thrust washers, which head gasket: chosen from readings, the family's tables and the shelf."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Any

from inventory.domain.errors import DomainError
from kits.domain.allowance import RULE
from kits.domain.bearings import BearingChoice, Journal, Pair, Wish, choose_halves
from kits.domain.facts import Bearing, EndFloat, Facts
from kits.domain.gasket_grade import GasketGrade, Projection, choose_gasket
from kits.domain.judging import Chosen, Judged, guarded, judged, mm, need, span
from kits.domain.limits import Limits, Verdict, judge, worst
from kits.domain.taken import Taken, allowance_of, missing, of
from kits.domain.thrust import ThrustChoice, Washer, choose_washers, room_of

HALVES_RULE = (
    f"{RULE}; of all halves on the shelf the smallest sum of |clearance - target|, then the smallest spread, then the lowest grades; "
    "halves of one journal at most one grade apart"
)
WASHERS_RULE = f"{RULE}; the end float nearest the middle of the limits"
GASKET_RULE = f"{RULE}; the thinnest gasket that takes the largest projection of all pistons"


def holder(position: str) -> str:
    """The place of a use position: MAIN-2 of MAIN-2/upper-half."""
    return position.partition("/")[0]


def journal_of(name: str, housings: Sequence[int], journals: Sequence[int]) -> Journal:
    """A journal in its housing, from diameters at several points, in nanometres.

    The least clearance is that of the narrowest housing with the thickest journal, the most that of the widest with the thinnest: a
    housing that is out of round counts like a journal that is thinner by as much.
    """
    narrow, wide = min(housings), max(housings)
    return Journal(name, narrow, min(journals) - (wide - narrow), max(journals))


def judge_halves(taken: Sequence[Taken], bearing: Bearing, stock: Mapping[str, int]) -> Judged:
    """Halves for every journal of a bearing. stock  part → pieces that the job can have.

    Raises DomainError "readings-missing", naming each journal that lacks one; "bearing-impossible" with the journal and the ways out;
    "bearing-unreadable".
    """
    names = [holder(position) for position in bearing.upper_at]
    journals, lacking = [], []
    for name in names:
        housings, sizes = (of(taken, what, [name]) for what in ("housing-bore", "journal-diameter"))
        lacking += [f"{name} {what}" for what, rows in (("housing", housings), ("journal", sizes)) if not rows]
        if housings and sizes:
            journals.append(journal_of(name, [one.value_nm for one in housings], [one.value_nm for one in sizes]))
    if lacking:
        raise DomainError("readings-missing", f"Not read yet: {', '.join(lacking)}.", missing=lacking)
    used = tuple(one for what in ("housing-bore", "journal-diameter") for one in of(taken, what, names))
    allowance = allowance_of(used)
    pieces = {half: stock.get(half.part, 0) for half in bearing.halves}
    wish = Wish(bearing.clearance, bearing.target_nm, bearing.same_undersize, bearing.fixed)

    def choose(limits: Limits) -> BearingChoice:
        return choose_halves(journals, bearing.uppers, bearing.lowers, pieces, replace(wish, limits=limits))

    found, doubt = guarded(bearing.clearance, allowance, choose)
    verdicts = [_verdict(pair, bearing.clearance, allowance) for pair in found.pairs]
    more: dict[str, Any] = {
        "bearing": bearing.name,
        "limits": span(bearing.clearance),
        "target": mm(bearing.target_nm),
        "sum_apart": mm(Fraction(found.twice_apart_nm, 2)),
        "spread": mm(Fraction(found.twice_spread_nm, 2)),
        "stock": {half.part: number for half, number in pieces.items()},
        "fixed": sorted(bearing.fixed),
        "pairs": [_said(pair, verdict) for pair, verdict in zip(found.pairs, verdicts, strict=True)],
    }
    chosen = [
        Chosen(half.part, position)
        for pair, upper, lower in zip(found.pairs, bearing.upper_at, bearing.lower_at, strict=True)
        for half, position in ((pair.upper, upper), (pair.lower, lower))
    ]
    return judged(
        worst(tuple(verdicts)), [doubt] if doubt else [], used, allowance, more, chosen, HALVES_RULE
    )  # fmt: skip


def _verdict(pair: Pair, limits: Limits, allowance: int) -> Verdict:
    return worst((judge(pair.least_nm, limits, allowance), judge(pair.most_nm, limits, allowance)))


def _said(pair: Pair, verdict: Verdict) -> dict[str, Any]:
    even = pair.least_nm == pair.most_nm
    return {
        "journal": pair.journal,
        "upper": {"part": pair.upper.part, "grade": pair.upper.grade},
        "lower": {"part": pair.lower.part, "grade": pair.lower.grade},
        "clearance": mm(pair.least_nm) if even else f"{mm(pair.least_nm)} to {mm(pair.most_nm)}",
        "least_nm": pair.least_nm,
        "most_nm": pair.most_nm,
        "verdict": verdict.value,
    }


def judge_washers(
    taken: Sequence[Taken], end_float: EndFloat | None, fitted: Sequence[str], stock: Mapping[str, int]
) -> Judged:
    """Thrust washers by the end float that was read with washers fitted. fitted  their part numbers, one for each face; one for both
    where they are bought as a pair.

    stock  part → pieces that the job can have; a pair is one piece. Raises DomainError "no-limit", "readings-missing",
    "reading-unusable" (read at several points), "bearing-unreadable" (a washer that the family has not), "bearing-impossible".
    """
    fact = need(end_float, "the end float")
    rows = of(taken, "end-float")
    if not rows:
        raise missing(["end-float"], "ENGINE")
    if len(rows) > 1:
        where = [" ".join((one.place, one.point)).strip() for one in rows]
        raise DomainError(
            "reading-unusable", f"The end float was read at several points: {', '.join(where)}.", points=where
        )
    measured, allowance = rows[0].value_nm, allowance_of(rows)
    room = room_of(measured, _fitted(fact, fitted))
    each = fact.faces if fact.alike else 1
    pieces = {washer: stock.get(washer.part, 0) * each for washer in fact.washers}

    def choose(limits: Limits) -> ThrustChoice:
        return choose_washers(room, pieces, limits, faces=fact.faces, alike=fact.alike)

    found, doubt = guarded(fact.limits, allowance, choose)
    more = {
        "limits": span(fact.limits),
        "measured": mm(measured),
        "measured_with": list(fitted),
        "measured_verdict": judge(measured, fact.limits, allowance).value,
        "end_float": mm(found.end_float_nm),
        "end_float_nm": found.end_float_nm,
        "washers": [{"part": one.part, "thickness": mm(one.thickness_nm)} for one in found.washers],
        "stock": {washer.part: stock.get(washer.part, 0) for washer in fact.washers},
    }
    verdict = judge(found.end_float_nm, fact.limits, allowance)
    chosen = [Chosen(part) for part in dict.fromkeys(one.part for one in found.washers)]
    return judged(verdict, [doubt] if doubt else [], rows, allowance, more, chosen, WASHERS_RULE)


def _fitted(fact: EndFloat, names: Sequence[str]) -> list[Washer]:
    known = {washer.part: washer for washer in fact.washers}
    parts = [*names] * (fact.faces if fact.alike and len(names) == 1 else 1)
    strange = [part for part in parts if part not in known]
    if strange or len(parts) != fact.faces:
        raise DomainError(
            "bearing-unreadable",
            f"Which of {', '.join(known)} were fitted when the end float was read? One for each of {fact.faces} faces.",
            fitted=list(names),
            known=list(known),
        )
    return [known[part] for part in parts]


def judge_gasket(taken: Sequence[Taken], facts: Facts, pistons: Collection[str]) -> Judged:
    """The grade of the head gasket over some pistons (CYL-1, …).

    Where the gauge's allowance reaches into the next grade, or the one before would do with it, nobody can say which is right:
    doubtful. Raises DomainError "no-limit", "readings-missing", "projection-not-accepted", "gasket-grade-none".
    """
    grades = need(facts.head_gasket_grades or None, "the grade of the head gasket")
    rows = of(taken, "piston-projection", list(pistons))
    if not rows:
        raise missing(["piston-projection"], ", ".join(pistons))
    allowance = allowance_of(rows)
    found = choose_gasket(
        grades,
        pistons,
        [Projection(one.place, one.point, one.value_nm) for one in rows],
        liners_clamped=all(one.clamped for one in rows),
    )
    number = next(at for at, grade in enumerate(grades) if grade.grade == found.grade)
    highest = found.decided_by.projection_nm
    band = _band(grades, number)
    sure = _sure(highest, band, allowance)
    why = [] if sure else [f"{mm(highest)} is nearer to another grade than the gauge can tell"]
    part = grades[number].part
    more = {
        "grade": found.grade,
        "part": part,
        "highest": {"piston": found.decided_by.piston, "at": found.decided_by.at, "projection": mm(highest)},
        "projection_nm": highest,
        "takes": span(band),
    }
    return judged(Verdict.PASS, why, rows, allowance, more, [Chosen(part)] if part else [], GASKET_RULE)


def _band(grades: Sequence[GasketGrade], number: int) -> Limits:
    """What a grade is for: above the largest projection of the one before, up to its own."""
    return Limits(grades[number - 1].projection_most_nm if number else None, grades[number].projection_most_nm)


def _sure(highest: int, band: Limits, allowance: int) -> bool:
    """Whether the true projection lies above the one end and not above the other, whatever the gauge's error."""
    low, high = band.low_nm, band.high_nm
    return (low is None or highest - allowance > low) and (high is None or highest + allowance <= high)
