"""The sealed joints of the demo's job: the gate before the nozzle, one bead after the other, then the fills when it has cured."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from fractions import Fraction
from functools import cached_property
from typing import Any

from api.demo.catalogue import Say
from api.demo.files import once, told_no
from api.demo.rebuild import Rebuild
from inventory.domain.quantities import round_half_even
from kits.queries.at_positions import on_bench
from kits.queries.job_list import JobList
from kits.queries.scope import job_by_number
from kits.queries.sealing import ListedJoint, listed_joints
from kits.services.fit import FitIn
from kits.services.lay_bead import TubeUsed, lay_bead
from kits.services.open_gate import GateIn, TubeIn, open_gate

#: Minutes after the start of the day: the first gate, and of the job that is told from joint to joint, the fills, its end.
FIRST, APART, FILLS, END = 320, 20, 520, 540
#: Of a job that nobody tells: from joint to joint, and how long a bead of which no sheet speaks is given.
QUICK, UNTIMED_MS = 3, 90_000


@dataclass
class Sealing:
    """The joints of a job; `helper` is named where a joint asks for one.

    temperature, humidity  of the bay, "" where no sheet asks; told: the day that is told as it goes, with time to cure
    """

    job: Rebuild
    say: Say
    helper: Any
    temperature: str = ""
    humidity: str = ""
    told: bool = False

    @cached_property
    def listed(self) -> JobList:
        """The list as it stands before the first joint is closed: closing one changes nothing that is asked for."""
        return self.job.list()

    def joints(self) -> list[ListedJoint]:
        """Joints that are sealed, in order of work."""
        listed = self.listed
        order = {key[0]: line.number for line in listed.lines for key in line.keys}
        return sorted(listed_joints(listed).values(), key=lambda one: order[one.amounts[0][0][0]])

    def fills(self) -> set[str]:
        """Positions that are filled."""
        return {key[0] for line in self.listed.lines if line.how == "fill" for key in line.keys}

    def later(self) -> set[str]:
        """Positions that wait for their gate, and for the sealant to cure."""
        return {key[0] for one in self.joints() for key, _ in one.amounts} | self.fills()

    def run(self, fittings: Sequence[FitIn]) -> int:
        """Every joint; how many positions were fitted. `fittings` are what waited, by the tubes they were held on."""
        given = {one.position: one for one in fittings}
        filled = self.fills()
        joints, apart, laid = self.joints(), APART if self.told else QUICK, 0
        rows: list[FitIn] = []
        for number, one in enumerate(joints):
            minutes = FIRST + apart * number
            rows += self._close(one, given, minutes)
            if self.told:
                laid += self._fit(f"fit {one.joint.code}", minutes + 12, rows)
                rows = []
        poured = [one for one in fittings if one.position in filled]
        if not self.told:
            return self._fit("fit joints", FIRST + apart * len(joints), [*rows, *poured])
        laid += self._fit("fills", FILLS, poured)
        self.say(f"  filled {FILLS - FIRST} minutes after the first gate, when the last bead had cured by its sheet")
        return laid

    def _fit(self, what: str, minutes: int, rows: Sequence[FitIn]) -> int:
        return len(self.job.fit(what, minutes, rows)["fitted"]) if rows else 0

    def _close(self, one: ListedJoint, given: Mapping[str, FitIn], minutes: int) -> list[FitIn]:
        """The gate, and the bead where it is one; what is to be fitted."""
        code, number = one.joint.code, self.job.number
        item = given[one.amounts[0][0][0]].item
        tube = self.job.tubes[item]
        part = self.job.buyer.parts[one.part.number]
        content = next((row.amount for row in on_bench(job_by_number(number)) if row.item_id == item), 0)
        asked = {
            "actor": self.job.people()[0],
            "job": number,
            "joint": code,
            "said": GateIn(
                faces_clean_dry=True, test_fit=True, dowels_in=True, bolts=one.joint.bolts,
                tubes=[TubeIn(tube, _weight_mg(part, content))], temperature=self.temperature, humidity=self.humidity,
            ),
        }  # fmt: skip
        if one.joint.helper and self.told:
            self.say("  stopped: " + told_no(open_gate, stamp=self.job.stamp(f"alone {code}", minutes), **asked))
        helper = self.helper if one.joint.helper else None
        gate = once(open_gate, stamp=self.job.stamp(f"gate {code}", minutes), helper=helper, **asked)
        if not one.is_bead:
            return [given[key[0]] for key, _ in one.amounts]
        began = self.job.stamp("", minutes).occurred_at
        closing = gate["closing"]
        needs = closing["with_helper_ms" if helper else "needed_ms"] if closing else UNTIMED_MS
        weighed = gate["tubes"][0]["weight_mg"]
        bead = once(
            lay_bead,
            actor=self.job.people()[0],
            stamp=self.job.stamp(f"bead {code}", minutes + (10 if self.told else 2)),
            job=number,
            joint=code,
            started_at=began,
            ended_at=began + timedelta(milliseconds=needs),
            tubes=[TubeUsed(tube, weighed - _weight_mg(part, gate["planned_ul"]) + part["empty_mg"])],
        )
        if self.told:
            allowed = f"{bead['taken_ms'] // 1000} s of {bead['allowed_ms'] // 1000} s"
            self.say(
                f"  {code}: {one.joint.bolts} bolts, {tube}, closed in {allowed}, {bead['drawn_ul'] / 1000:.2f} mL used"
                f" (planned {bead['planned_ul'] / 1000:.2f})" + (f", {helper} helped" if helper else "")
            )
        return [FitIn(row["position"], row["item"], row["amount"], row["make"]) for row in bead["fit"]]


def _weight_mg(part: Mapping[str, Any], content_ul: int) -> int:
    return int(part["empty_mg"]) + round_half_even(Fraction(content_ul * part["density_mg_per_ml"], 1000))
