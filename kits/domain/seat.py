"""The seat that a liner stands or hangs on: how even its depth is round the bore, and whether it is cupped. Pure, exact.

A seat that is cupped, deeper at one edge than at the other, carries the flange on an edge: it cracks, though its height is right.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from kits.domain.allowance import combined
from kits.domain.facts import Seat
from kits.domain.limits import Limits, Verdict, worst
from kits.domain.limits import judge as judge_value
from kits.domain.liners import Gauged, Read, beside_each_other, gauged
from kits.domain.protrusion import POINTS_LEAST, microns
from kits.domain.readings import MEASURE_AGAIN

RECUT = "recut the seat and read it again"


@dataclass(frozen=True, slots=True)
class SeatJudged:
    """The verdict on a seat: pass where its family states nothing of it; why it is not better; `ids`: readings of the cupping."""

    verdict: Verdict
    why: tuple[str, ...] = ()
    ids: tuple[int, ...] = ()

    @property
    def wrong(self) -> str:
        """Why no liner goes onto it; "" where one may."""
        return f"{'; '.join(self.why)}: {RECUT}" if self.verdict is Verdict.FAIL else ""


def cupping_of(reads: Iterable[Read]) -> Gauged:
    """Readings of the cupping round a seat, taken together hour by hour. So small a length is not corrected for temperature."""
    return gauged((replace(one, part_mk=None, gauge_mk=None) for one in reads), None, False)


def judge_seat(seat: Seat | None, depths: Gauged, cupping: Gauged) -> SeatJudged:
    """The verdict; a value on a limit passes.

    The difference of the depths is held against its limit as it is, like the points of one liner; the cupping with the gauge's allowance.
    """
    if seat is None:
        return SeatJudged(Verdict.PASS)
    verdicts, why, ids = [Verdict.PASS], list[str](), tuple[int, ...]()
    spread = max(depths.points.values(), default=0) - min(depths.points.values(), default=0)
    if seat.depth_spread_nm is not None and spread > seat.depth_spread_nm:
        verdicts.append(Verdict.FAIL)
        why.append(f"its depth differs by {microns(spread)} round the bore, at most {microns(seat.depth_spread_nm)}")
    if seat.cupping_most_nm is not None:
        found, said = _cupped(cupping, seat.cupping_most_nm)
        verdicts.append(found)
        why += said
        ids = cupping.ids
    return SeatJudged(worst(tuple(verdicts)), tuple(why), ids)


def _cupped(cupping: Gauged, most_nm: int) -> tuple[Verdict, list[str]]:
    if not cupping.ids:
        return Verdict.DOUBTFUL, ["its cupping was not read"]
    hours = tuple(cupping.points)
    doubts = [*cupping.doubts, *(f"{MEASURE_AGAIN} at {hour} o'clock" for hour in cupping.again)]
    if len(hours) < POINTS_LEAST:
        doubts.append(f"read at {len(hours)} points only: at least {POINTS_LEAST} are needed")
    doubts += [doubt for doubt in [beside_each_other(hours)] if doubt]
    why, verdict = [f"its cupping: {doubt}" for doubt in doubts], Verdict.DOUBTFUL if doubts else Verdict.PASS
    if hours:
        largest = max(cupping.points.values())
        found = judge_value(largest, Limits(None, most_nm), combined([cupping.uncertainty_nm]))
        if found is Verdict.FAIL:
            why.insert(0, f"it is cupped by {microns(largest)}, at most {microns(most_nm)}")
        elif found is Verdict.DOUBTFUL:
            why.insert(0, f"it is cupped by {microns(largest)}: nearer to {microns(most_nm)} than the gauge can tell")
        verdict = worst((verdict, found))
    return verdict, why
