"""The sealed joints of the demo's job: the gate before the nozzle, one bead after the other, then the fills when it has cured."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from fractions import Fraction
from typing import Any

from api.demo.catalogue import Say
from api.demo.files import once, told_no
from api.demo.rebuild import Rebuild
from inventory.domain.quantities import round_half_even
from kits.queries.at_positions import on_bench
from kits.queries.scope import job_by_number
from kits.queries.sealing import ListedJoint, listed_joints
from kits.services.fit import FitIn
from kits.services.lay_bead import TubeUsed, lay_bead
from kits.services.open_gate import GateIn, TubeIn, open_gate

#: Minutes after the start of the day: the first gate, from joint to joint, and the fills, when the last bead has cured.
FIRST, APART, FILLS, END = 320, 20, 520, 540


@dataclass
class Sealing:
    """The joints of a job in this bay; `helper` is named where a joint asks for one."""

    job: Rebuild
    say: Say
    helper: Any
    temperature: str
    humidity: str

    def joints(self) -> list[ListedJoint]:
        """Joints that are closed with a bead, in order of work."""
        listed = self.job.list()
        order = {key[0]: line.number for line in listed.lines for key in line.keys}
        beads = [one for one in listed_joints(listed).values() if one.is_bead]
        return sorted(beads, key=lambda one: order[one.amounts[0][0][0]])

    def fills(self) -> set[str]:
        """Positions that are filled."""
        return {key[0] for line in self.job.list().lines if line.how == "fill" for key in line.keys}

    def later(self) -> set[str]:
        """Positions that wait for their gate, and for the sealant to cure."""
        return {key[0] for one in self.joints() for key, _ in one.amounts} | self.fills()

    def run(self, held: Mapping[str, Any], fittings: Sequence[FitIn]) -> int:
        """Every joint; how many positions were fitted. `fittings` are what waited, by the tubes they were held on."""
        tubes = {one.position: one.item for one in fittings}
        fitted = 0
        for number, one in enumerate(self.joints()):
            minutes = FIRST + APART * number
            fitted += self._close(one, held, tubes[one.amounts[0][0][0]], minutes)
        fills = [one for one in fittings if one.position in self.fills()]
        fitted += len(self.job.fit("fills", FILLS, fills)["fitted"])
        self.say(f"  filled {FILLS - FIRST} minutes after the first gate, when the last bead had cured by its sheet")
        return fitted

    def _close(self, one: ListedJoint, held: Mapping[str, Any], item: int, minutes: int) -> int:
        code, number = one.joint.code, self.job.number
        tube = self.job.tube_number(held, item)
        part = self.job.buyer.parts[one.part.number]
        content = next((row.amount for row in on_bench(job_by_number(number)) if row.item_id == item), 0)
        given = {
            "actor": self.job.people()[0],
            "job": number,
            "joint": code,
            "said": GateIn(
                faces_clean_dry=True, test_fit=True, dowels_in=True, bolts=one.joint.bolts,
                tubes=[TubeIn(tube, _weight_mg(part, content))], temperature=self.temperature, humidity=self.humidity,
            ),
        }  # fmt: skip
        if one.joint.helper:
            self.say("  stopped: " + told_no(open_gate, stamp=self.job.stamp(f"alone {code}", minutes), **given))
        helper = self.helper if one.joint.helper else None
        gate = once(open_gate, stamp=self.job.stamp(f"gate {code}", minutes + 1), helper=helper, **given)
        began = self.job.stamp("", minutes + 3).occurred_at
        needs = gate["closing"]["with_helper_ms" if helper else "needed_ms"]
        weighed = gate["tubes"][0]["weight_mg"]
        bead = once(
            lay_bead,
            actor=self.job.people()[0],
            stamp=self.job.stamp(f"bead {code}", minutes + 10),
            job=number,
            joint=code,
            started_at=began,
            ended_at=began + timedelta(milliseconds=needs),
            tubes=[TubeUsed(tube, weighed - _weight_mg(part, gate["planned_ul"]) + part["empty_mg"])],
        )
        allowed = f"{bead['taken_ms'] // 1000} s of {bead['allowed_ms'] // 1000} s"
        self.say(
            f"  {code}: {one.joint.bolts} bolts, {tube}, closed in {allowed}, {bead['drawn_ul'] / 1000:.2f} mL used"
            f" (planned {bead['planned_ul'] / 1000:.2f})" + (f", {helper} helped" if helper else "")
        )
        rows = [FitIn(row["position"], row["item"], row["amount"], row["make"]) for row in bead["fit"]]
        return len(self.job.fit(f"fit {code}", minutes + 12, rows)["fitted"])


def _weight_mg(part: Mapping[str, Any], content_ul: int) -> int:
    return int(part["empty_mg"]) + round_half_even(Fraction(content_ul * part["density_mg_per_ml"], 1000))
